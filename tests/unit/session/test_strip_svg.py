"""Printed strips: well-formed, in the trainee's design, and as wide as the type really is."""

from __future__ import annotations

import string
from dataclasses import replace

import pytest
from lxml import etree
from reportlab.pdfbase.pdfmetrics import stringWidth

from trainer.app import Workspace
from trainer.session.annunciation import CELLS, Annunciation, AxisAnnunciation
from trainer.session.strip_design import DEFAULT_DESIGN, StripDesign
from trainer.session.strip_svg import StripLook, StripShown, strip_svg
from trainer.session.strip_words import CELL_TITLES, with_design, words_of_chart
from trainer.session.text_widths import text_width_px

WORDS = words_of_chart(Workspace().installation("ship_amber").chart)
CLIMB = Annunciation(
    "autopilot",
    AxisAnnunciation("heading_select", ("course_track",)),
    AxisAnnunciation("vertical_speed", ("altitude", "glidepath")),
    alert="signal_lost",
)
SVG = "{http://www.w3.org/2000/svg}"


def look(design: StripDesign = DEFAULT_DESIGN, width_px: int = 640) -> StripLook:
    """Return a design in its light colours."""
    return StripLook(design, with_design(WORDS, design), design.light, width_px)


def texts(svg: str) -> list[str]:
    """Return all that is written in a picture, its title not."""
    return [one.text or "" for one in etree.fromstring(svg.encode()).iter(f"{SVG}text")]


@pytest.mark.parametrize(("is_bold", "name"), [(False, "Helvetica"), (True, "Helvetica-Bold")])
def test_widths_are_those_of_the_registry_library(is_bold: bool, name: str) -> None:
    """[AFM-SANS] reportlab's table of the standard sans metric."""
    for sign in string.printable[:95]:
        mine = text_width_px(sign, 1000.0, is_bold)
        assert mine == pytest.approx(stringWidth(sign, name, 1000.0)), sign
    sentence = "Approach course, Go-around 100 %"
    assert text_width_px(sentence, 13.0, is_bold) == pytest.approx(
        stringWidth(sentence, name, 13.0)
    )


def test_accents_are_as_wide_as_their_letter_and_unknown_signs_never_too_narrow() -> None:
    assert text_width_px("é", 10.0, False) == text_width_px("e", 10.0, False)
    assert text_width_px("\u2603", 10.0, False) == 10.0


def test_strip_says_what_it_reads() -> None:
    svg = strip_svg(StripShown(CLIMB), look())
    written = texts(svg)
    assert [title for title in CELL_TITLES.values() if title not in written] == []
    for word in ("Autopilot", "Heading", "Course", "Vertical speed", "Altitude", "Signal lost"):
        assert word in written
    title = etree.fromstring(svg.encode()).find(f"{SVG}title").text
    assert title == WORDS.sentence(CLIMB)


def test_design_decides_words_shapes_and_places() -> None:
    own = replace(
        DEFAULT_DESIGN, words={"heading_select": "Turn to <&>"}, active_shape="cut",
        armed_marker="bar", orientation="columns",
    )  # fmt: skip
    svg = strip_svg(StripShown(CLIMB), look(own))
    assert "Turn to <&>" in texts(svg)
    assert "Heading" not in texts(svg)
    root = etree.fromstring(svg.encode())
    assert root.findall(f"{SVG}polygon")
    # In columns the lanes of the default stand beside each other: armed below active.
    places = {
        one.text: (float(one.get("x")), float(one.get("y"))) for one in root.iter(f"{SVG}text")
    }
    (active_x, active_y), (armed_x, armed_y) = places["Lateral active"], places["Lateral armed"]
    assert active_x == armed_x
    assert active_y < armed_y


def test_blank_strip_gives_nothing_away() -> None:
    written = texts(strip_svg(StripShown(None), look()))
    assert sorted(written) == sorted(CELL_TITLES.values())


def test_verdicts_and_marks_are_written_not_only_coloured() -> None:
    shown = StripShown(CLIMB, frozenset({"alert"}), {"engagement": "right", "protection": "wrong"})
    written = texts(strip_svg(shown, look(width_px=900)))
    assert {"right", "not so", "changed by itself"} <= set(written)


@pytest.mark.parametrize("width_px", [230, 374, 640])
@pytest.mark.parametrize("scale", [0.8, 1.0, 2.0])
def test_every_text_and_shape_lies_inside_the_picture(width_px: int, scale: float) -> None:
    long = {state: f"{state} {'long ' * 5}"[:40].strip() for state in ("altitude", "autopilot")}
    own = replace(DEFAULT_DESIGN, words=long, scale=scale, lanes=(tuple(CELLS),))
    root = etree.fromstring(strip_svg(StripShown(CLIMB), look(own, width_px)).encode())
    height = float(root.get("height"))
    for text in root.iter(f"{SVG}text"):
        right = float(text.get("x")) + float(text.get("textLength"))
        assert right <= width_px, text.text
        assert float(text.get("font-size")) <= float(text.get("y")) <= height
    for box in root.iter(f"{SVG}rect"):
        x, y, wide, high = (float(box.get(key, 0)) for key in ("x", "y", "width", "height"))
        assert x + wide <= width_px
        assert y + high <= height
