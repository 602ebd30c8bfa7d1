"""The differences briefing: each sentence from a flight, `seamless` only of what was compared."""

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from tests.helpers.differences import (
    alike,
    planted,
    quiet_ship,
    shipped,
    study,
    with_limit,
)
from trainer.assessment.differences.differences import FlownDifference
from trainer.assessment.differences.differences_play import play_stimulus
from trainer.assessment.items.item import fly_to
from trainer.charts.installation import Installation, Provenance
from trainer.charts.kernel import AUTOMATIC
from trainer.charts.provenance import NOT_FOR_USE
from trainer.errors import MissingFileError
from trainer.report.differences_briefing import Briefing, _Writer, build_briefing
from trainer.report.differences_render import briefing_html, briefing_pdf, write_briefing

NOW = "2026-03-10T12:00:00Z"


def briefing_of(pair) -> Briefing:
    ships = pair.first.logic.installation, pair.second.logic.installation
    return build_briefing(pair.found, pair.groups, ships, made_utc=NOW, program_version="0.1.0")


def flown_again(one: FlownDifference, pair) -> FlownDifference:
    sessions = [fly_to(one.situation, ship.begin) for ship in (pair.first, pair.second)]
    sides = [play_stimulus(session, one.stimulus).side for session in sessions]
    return replace(one, before=sessions[0].annunciation, first=sides[0], second=sides[1])


def check_traced(pair) -> None:
    """Write every sentence and strip anew from a new flight in both ships."""
    ships = pair.first.logic.installation, pair.second.logic.installation
    page, writer = briefing_of(pair), _Writer(ships)
    assert page.rows
    for row in page.rows:
        again = flown_again(row.flown, pair)
        assert writer.sentence(again) == row.sentence
        assert writer._strips(again) == row.strips
        for rule in (*again.first.rules, *again.second.rules):
            assert rule in row.trace


def test_every_sentence_comes_out_the_same_from_a_new_flight():
    check_traced(planted())


def test_rows_are_ordered_by_consequence_and_name_what_the_chart_says():
    pair, page = planted(), briefing_of(planted())
    assert [row.flown.difference.causes for row in page.rows] == [
        group.causes for group in pair.groups
    ]
    by_heading = {row.heading: row for row in page.rows}
    row = by_heading["Does the autopilot stay engaged at go-around?"]
    assert row.choices == ("It stays engaged and flies the go-around (placeholder).",
                           "It disconnects; the pilot flies the cue (placeholder).")  # fmt: skip
    assert "Press Go-around: Ship Known reads" in row.sentence
    assert by_heading["Minimum engagement height above ground"].choices == (
        "800 ft (placeholder)", "1000 ft (placeholder)",
    )  # fmt: skip
    before, first, second = row.strips
    assert (before.cells[0].active, first.cells[0].active, second.cells[0].active) == (
        "autopilot", "autopilot", "director",
    )  # fmt: skip
    assert first.cells[0].differs
    assert second.cells[0].differs
    assert second.alert_differs
    assert not first.cells[1].differs, "both read go-around"


def test_seamless_is_said_of_exactly_what_has_no_difference():
    pair, page = planted(), briefing_of(planted())
    chart = pair.first.logic.installation.chart
    other = {one.event for one in pair.found.differences} | set(pair.found.unseen)
    said = page.seamless.split(": ", 1)[1].rstrip(".").split(", ")
    assert set(said) == {
        event.label for event in chart.events.values() if event.id not in other
    } | ({"and every change that comes by itself"} if AUTOMATIC not in other else set())
    assert {"Go-around", "Director", "Autopilot"}.isdisjoint(said)


def test_a_key_that_reads_the_same_and_does_something_else_is_not_seamless():
    first = quiet_ship()
    second = quiet_ship("ship_other", reference_in_altitude_hold="moves_held_altitude")
    pair = study("unseen", first, second)
    assert pair.found.differences == []
    assert set(pair.found.unseen) == {"reference_up", "reference_down"}
    page = briefing_of(pair)
    assert " Up," not in page.seamless
    assert " Down," not in page.seamless
    assert "Heading" in page.seamless
    assert any("altitude hold" in line for line in page.values)


def test_what_was_not_compared_in_full_is_never_called_seamless():
    pair = planted()
    ships = pair.first.logic.installation, pair.second.logic.installation
    cut_short = replace(pair.found, is_complete=False)
    page = build_briefing(cut_short, pair.groups, ships, made_utc=NOW, program_version="0")
    assert page.seamless == ""
    assert "not all that can be reached" in page.proof


def test_ships_that_are_alike_give_a_page_that_says_so_with_its_proof():
    page = briefing_of(alike())
    assert (page.rows, page.further, page.values) == ((), (), ())
    assert page.seamless.startswith("Seamless on the strip: every key")
    count = alike().found.transitions
    assert f"{count:,} transitions, all that can be reached. None of them differs." in page.proof


def test_a_limit_that_only_changes_how_it_flies_stands_below():
    other = with_limit(quiet_ship("ship_other"), "bank_limit_deg", 25)
    pair = study("flies otherwise", quiet_ship(), other)
    assert briefing_of(pair).values == (
        "Bank limit of the guidance. Ship Known: 22 deg (placeholder); "
        "Ship Other: 25 deg (placeholder).",
    )


def test_the_page_is_one_page_and_the_same_bytes_each_time():
    page = briefing_of(planted())
    data = briefing_pdf(page)
    reader = PdfReader(io.BytesIO(data))
    assert len(reader.pages) == 1
    text = re.sub(r"\s+", " ", reader.pages[0].extract_text())
    for row in page.rows:
        assert row.heading.split("?")[0] in text
    assert page.caution.split(":")[0] in text
    assert briefing_pdf(page) == data


def test_html_escapes_what_people_wrote_and_shows_every_row():
    page = briefing_of(planted())
    odd = replace(page, title="<b>A & B</b>")
    text = briefing_html(odd)
    assert "<b>A" not in text
    assert "&lt;b&gt;A &amp; B" in text
    assert text.count("<article>") == len(page.rows)
    assert text.count('class="strip"') == 3 * len(page.rows)


def test_a_briefing_is_written_by_its_ending(tmp_path):
    page = briefing_of(alike())
    write_briefing(page, tmp_path / "page.html")
    assert (tmp_path / "page.html").read_text().startswith("<!DOCTYPE html>")
    with pytest.raises(MissingFileError, match=r"accepted: a name in .html or .pdf"):
        write_briefing(page, tmp_path / "page.txt")
    assert list(tmp_path.iterdir()) == [tmp_path / "page.html"]


def test_a_difference_without_flight_gets_a_line_that_says_so():
    pair = planted()
    ships = pair.first.logic.installation, pair.second.logic.installation
    unflown = [replace(group, flown=()) for group in pair.groups]
    page = build_briefing(pair.found, unflown, ships, made_utc=NOW, program_version="0")
    assert page.rows == ()
    assert len(page.further) == len(pair.groups)
    assert all("no flight was found" in line for line in page.further)


def signed(ship: Installation, state: str = "verified") -> Installation:
    found = Provenance(state, "supplement", "Kim Lark", "2026-01-02", "Ash Reed")
    return replace(
        ship,
        limits={one.id: replace(one, provenance=found) for one in ship.limits.values()},
        options={one.id: replace(one, provenance=found) for one in ship.options.values()},
    )


def test_each_value_that_nobody_signed_is_marked_and_counted_at_the_head():
    pair = planted()
    ships = pair.first.logic.installation, signed(pair.second.logic.installation, "entered")
    page = build_briefing(pair.found, pair.groups, ships, made_utc=NOW, program_version="0")
    assert page.unsigned == (
        "Ship Known: 46 of 46 values not signed (46 placeholders); "
        "Ship Other: 46 of 46 values not signed (46 entered only). "
        f"Each is marked: {NOT_FOR_USE}."
    )
    for row in page.rows:
        assert "(placeholder)" in row.choices[0]
        assert "(not signed)" in row.choices[1]
    text = re.sub(r"\s+", " ", PdfReader(io.BytesIO(briefing_pdf(page))).pages[0].extract_text())
    assert "Ship Other: 46 of 46 values not signed" in text
    assert "Ship Other: 46 of 46 values not signed" in briefing_html(page)
    both = signed(ships[0]), signed(ships[1])
    page = build_briefing(pair.found, pair.groups, both, made_utc=NOW, program_version="0")
    assert page.unsigned == ""
    assert not any("(placeholder)" in row.choices[0] for row in page.rows)


def test_what_only_comes_together_names_the_rows_by_their_numbers():
    pair = planted()
    ships = pair.first.logic.installation, pair.second.logic.installation
    causes = tuple(cause for group in pair.groups for cause in group.causes)
    at_once = replace(pair.groups[0], causes=causes, flown=())
    groups = [*pair.groups, at_once]
    page = build_briefing(pair.found, groups, ships, made_utc=NOW, program_version="0")
    (line,) = page.further
    numbers = ", ".join(str(number) for number in range(1, len(page.rows) + 1))
    assert line.startswith(f"At once: {numbers} above. (")
    assert "no flight was found that shows it" in line
    assert not any(row.heading in line for row in page.rows)


@pytest.mark.long
def test_the_shipped_ships_briefing_is_traced_and_one_page():
    check_traced(shipped())
    page = briefing_of(shipped())
    assert len(PdfReader(io.BytesIO(briefing_pdf(page))).pages) == 1
