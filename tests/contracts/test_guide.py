"""The guide says what the program does: commands, options, keys, words, sources, examples."""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from trainer.app import Workspace
from trainer.cli.main import COMMANDS as PROGRAM
from trainer.cli.main import build_parser
from trainer.lesson.loader import load_lesson
from trainer.records.attempt import Attempt
from trainer.resources import guide_folder, resource_folder

GUIDE = guide_folder()
ROOT = Path(__file__).resolve().parents[2]
PAGES = {path.name: path.read_text("utf-8") for path in sorted(GUIDE.glob("*.md"))}
FORMATS = PAGES["file-formats.md"]
COMMANDS = PAGES["command-line.md"]
SCHEMAS = sorted((ROOT / "trainer").rglob("*.schema.json"))


def anchors(text: str) -> set[str]:
    """Return the anchors of a page's headings, made as common Markdown readers make them."""
    headings = re.findall(r"^#+ (.*)$", text, re.M)
    return {re.sub(r"[^\w -]", "", one.lower()).strip().replace(" ", "-") for one in headings}


def links(text: str) -> list[str]:
    return re.findall(r"\]\(([^)\s]+)\)", text.replace("\n", " "))


def actions(parser: argparse.ArgumentParser, path: tuple[str, ...] = ()):
    """Yield every command and option below a parser."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for name, inner in action.choices.items():
                yield (*path, name), None
                yield from actions(inner, (*path, name))
        elif action.option_strings:
            yield path, action


def section(command: str) -> str:
    """Return the section of a command, or the row of an action of `records`."""
    first, *rest = command.split()
    title = "records club" if command.startswith("records club") else first
    text = re.split(rf"^## {title}$", COMMANDS, flags=re.M)[1]
    text = re.split(r"^## ", text, flags=re.M)[0]
    if first == "records" and rest and rest[-1] != "club":
        rows = [row for row in text.splitlines() if re.search(rf"`{rest[-1]}[ `]", row)]
        assert rows, command
        return "\n".join(rows)
    return text


def test_every_command_and_option_is_documented():
    missing = []
    for path, action in actions(build_parser(*PROGRAM)):
        command = " ".join(path)
        if action is None:
            if path[-1] not in COMMANDS:
                missing.append(command)
            continue
        for option in action.option_strings:
            general = option in ("-h", "--help", "--json", "--version")
            if option not in (COMMANDS if general or not command else section(command)):
                missing.append(f"{command} {option}")
        for choice in action.choices or ():
            if f"`{choice}`" not in section(command) and f" {choice}`" not in section(command):
                missing.append(f"{command} {action.option_strings[-1]} {choice}")
    missing = [one for one in missing if not one.endswith(" -h")]
    assert missing == []


def test_every_option_in_the_guide_is_one_of_the_program():
    known = {
        option for _, one in actions(build_parser(*PROGRAM)) if one for option in one.option_strings
    }
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", COMMANDS)) <= known


def test_every_kind_of_object_that_a_command_prints_is_documented():
    code = "\n".join(path.read_text("utf-8") for path in (ROOT / "trainer/cli").glob("*.py"))
    code += (ROOT / "trainer/records/board_json.py").read_text("utf-8")
    kinds = set(re.findall(r'"kind": "(\w+)"', code))
    assert len(kinds) > 30
    assert [kind for kind in sorted(kinds) if f"`{kind}`" not in COMMANDS] == []


def schema_keys(node: object):
    """Yield every property name of a schema."""
    if isinstance(node, dict):
        yield from node.get("properties", {})
        for inner in node.values():
            yield from schema_keys(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from schema_keys(inner)


SECTIONS = {
    "lesson": "Lesson",
    "chart": "Chart",
    "installation": "Installation",
    "misconception": "Misconceptions",
    "check_plan": "Check plans",
    "aircraft": "Aircraft",
    "strip_design": "Strip design",
    "competencies": "Competencies",
    "flight_profile": "Flight profile",
}


def format_section(title: str) -> str:
    """Return a section of the page of formats."""
    return re.split(r"^## ", re.split(rf"^## {title}$", FORMATS, flags=re.M)[1], flags=re.M)[0]


@pytest.mark.parametrize("path", SCHEMAS, ids=lambda path: path.name)
def test_every_key_of_a_schema_is_documented(path):
    keys = set(schema_keys(json.loads(path.read_text("utf-8"))))
    assert len(keys) >= 5
    part = format_section(SECTIONS[path.name.split(".")[0]])
    assert [key for key in sorted(keys) if not re.search(rf"\b{key}\b", part)] == []
    assert str(path.relative_to(ROOT)) in FORMATS


def test_keys_of_files_without_a_schema_are_documented():
    from trainer.flight.aircraft import RANGES
    from trainer.records.assignment import Assignment
    from trainer.records.check_outcome import CheckOutcome, FoundMisconception, SureAndWrong
    from trainer.records.result import Result
    from trainer.session.strip_design_file import DESIGN_KEYS

    handed_on = (Attempt, Assignment, Result, CheckOutcome, SureAndWrong, FoundMisconception)
    keys = {*RANGES, *DESIGN_KEYS}
    keys |= {name for one in handed_on for name in one.__dataclass_fields__}
    assert [key for key in sorted(keys) if f"`{key}`" not in FORMATS] == []


def test_every_format_line_is_documented():
    code = "\n".join(path.read_text("utf-8") for path in (ROOT / "trainer").rglob("*.py"))
    formats = set(re.findall(r'FORMAT = "([\w/-]+/\d+)"', code))
    formats |= set(re.findall(r'^ +"([\w-]+/\d+)": lambda', code, re.M))
    assert "lesson/1" in formats
    assert [one for one in sorted(formats) if f"`{one}`" not in FORMATS] == []


def test_pages_are_all_reached_from_the_index():
    reached, todo = set(), ["index.md"]
    while todo:
        name = todo.pop()
        if name not in reached:
            reached.add(name)
            found = [one.split("#")[0] for one in links(PAGES[name])]
            todo += [one for one in found if one.endswith(".md")]
    assert reached == set(PAGES)


@pytest.mark.parametrize("name", PAGES)
def test_no_link_is_dead(name):
    dead = []
    for link in links(PAGES[name]):
        assert "://" not in link, "the guide is read without a network"
        page, _, anchor = link.partition("#")
        target = page or name
        if not (GUIDE / target).is_file() or (anchor and anchor not in anchors(PAGES[target])):
            dead.append(link)
    assert dead == []


@pytest.mark.parametrize("name", PAGES)
def test_a_page_begins_with_its_one_title(name):
    titles = re.findall(r"^# (.+)$", re.sub(r"```.*?```", "", PAGES[name], flags=re.S), re.M)
    assert len(titles) == 1
    assert PAGES[name].startswith("# ")


def test_the_glossary_has_every_label_of_the_chart():
    chart = Workspace().installation("ship_amber").generic
    labels = {state.label for region in chart.regions.values() for state in region.states.values()}
    labels |= {one.label for one in (*chart.regions.values(), *chart.events.values())}
    terms = glossary_terms()
    assert [one for one in sorted(labels) if one.lower() not in terms] == []


def glossary_terms() -> list[str]:
    """Return the words of the glossary; a row may explain several that belong together."""
    found = []
    for row in re.findall(r"^\| ([^|]+) \| [^|]+ \| [^|]+ \|$", PAGES["glossary.md"], re.M):
        if row != "word":
            found += [row, *row.split(", ")] if ", " in row else [row]
    return found


def test_a_word_of_the_glossary_has_one_meaning_and_a_source():
    terms = glossary_terms()
    twice = {term for term in terms if terms.count(term) > 1} - {"autopilot", "cue hidden"}
    assert twice == set()
    rows = re.findall(r"^\| (?!word|---)[^|]+ \| [^|]+ \| ([^|]+) \|$", PAGES["glossary.md"], re.M)
    assert len(rows) > 90
    keys = {key for row in rows for key in re.findall(r"[A-Z]{3}-\d\d", row)}
    assert keys <= source_keys(PAGES["sources.md"])
    assert [
        row for row in rows if not re.fullmatch(r"here|common practice|(\[\S+\] ?)+", row)
    ] == []


def source_keys(text: str) -> set[str]:
    """Return the keys of sources in a text; `[A-01] to [A-03]` stands for three."""
    found = set()
    for name, first, last in re.findall(
        r"\b([A-Z]{3})-(\d\d)\b(?: to \1-(\d\d))?", re.sub(r"[\[\]]", "", text)
    ):
        found |= {f"{name}-{number:02d}" for number in range(int(first), int(last or first) + 1)}
    return found


def test_every_source_that_the_shipped_files_cite_is_in_the_guide():
    shipped = "\n".join(
        path.read_text("utf-8")
        for folder in ("statecharts", "lessons")
        for path in resource_folder(folder).rglob("*.yaml")
    )
    cited = source_keys(shipped)
    assert len(cited) > 20
    rows = "\n".join(re.findall(r"^\| ([A-Z]{3}-\d\d) \|", PAGES["sources.md"], re.M))
    assert cited == source_keys(rows) & cited
    assert source_keys(rows) - cited - source_keys(PAGES["glossary.md"]) == set()


def test_every_source_that_a_test_cites_is_listed():
    listed = source_keys((ROOT / "tests/published/SOURCES.md").read_text("utf-8"))
    listed |= source_keys(PAGES["sources.md"])
    code = "\n".join(
        "\n".join(
            re.findall(r"\[[A-Z]{3}-\d\d\](?: to \[[A-Z]{3}-\d\d\])?", path.read_text("utf-8"))
        )
        for path in (ROOT / "tests").rglob("*.py")
    )
    assert source_keys(code) - listed == set()


def test_the_scenario_of_the_instructors_page_is_accepted(tmp_path):
    (text,) = re.findall(r"```yaml\n(.*?)```", PAGES["for-the-instructor.md"], re.S)
    path = tmp_path / "scenario.yaml"
    path.write_text(text, "utf-8")
    workspace = Workspace(user=tmp_path)
    assert load_lesson(path, workspace.charts).title == "Cleared higher while levelling"
    command = [sys.executable, "-m", "trainer", "validate", str(path)]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout + run.stderr


def without_totals(line):
    """One more rule anywhere changes what is counted out of, one more wrong rule the count too."""
    return re.sub(r"( misconceptions \d+| \d+) of \d+", some_of_all, " ".join(line.split()))


def some_of_all(found):
    return " misconceptions of all" if "misconceptions" in found[1] else f"{found[1]} of all"


def test_the_coverage_table_of_the_instructors_page_is_the_programs(capsys):
    from trainer.cli.main import main

    (table,) = re.findall(r"```\n(rule .*?)```", PAGES["for-the-instructor.md"], re.S)
    lessons = [str(next(resource_folder("lessons").glob(f"{n}-*"))) for n in ("01", "06")]
    assert main(["coverage", *lessons]) == 0
    printed = [without_totals(line) for line in capsys.readouterr().out.splitlines()]
    wanted = [without_totals(line) for line in table.splitlines() if line != "..."]
    assert [line for line in wanted if line not in printed] == []


@pytest.mark.parametrize("name", ["for-the-member.md", "for-the-instructor.md",
                                  "for-the-training-lead.md", "what-the-model-is-not.md",
                                  "index.md"])  # fmt: skip
def test_pages_for_people_carry_the_cautions(name):
    text = PAGES[name].lower()
    assert "training aid" in text
    assert "not an approved device" in text.replace("**", "")
    assert "supplement" in text
