"""Every report in every form: whole, escaped, the same each time."""

from __future__ import annotations

import io
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from pypdf import PdfReader

from trainer.report.page import (
    CAUTION,
    Bar,
    BarChart,
    Bullets,
    Facts,
    Heading,
    PageBreak,
    Paragraph,
    Report,
    Signatures,
    Strips,
    Table,
)
from trainer.report.render_html import chart_svg, render_html
from trainer.report.render_pdf import render_pdf
from trainer.report.render_text import WIDTH, render_text
from trainer.report.strip_block import paper_look, strip_picture
from trainer.session.annunciation import Annunciation
from trainer.session.strip_design import DEFAULT_DESIGN
from trainer.session.strip_svg import StripLook, StripShown
from trainer.session.strip_words import Choice, StripWords

KINDS = ("brief", "summary", "quiz", "certificate")


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.open: list[str] = []

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.words.append(data)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        if tag not in {"meta", "line", "rect", "polygon", "polyline"}:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in {"line", "rect", "polygon", "polyline"}:
            assert self.open.pop() == tag


def _html_words(html: str) -> str:
    parser = _Words()
    parser.feed(html)
    assert parser.open == []
    return " ".join(" ".join(parser.words).split())


def _pages(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def _pdf_words(pdf: bytes) -> str:
    return " ".join(" ".join(_pages(pdf)).split())


@pytest.mark.parametrize("kind", KINDS)
def test_every_form_says_what_matters(reports: dict[str, Any], kind: str) -> None:
    report = reports[kind]
    forms = (
        " ".join(render_text(report).split()),
        _html_words(render_html(report)),
        _pdf_words(render_pdf(report)).replace("- ", "-"),
    )
    for form in forms:
        assert "no loggable time" in form
        assert report.title.casefold() in form.casefold()
        assert report.footer in form
        for block in report.blocks:
            if isinstance(block, Table):
                # Hyphenated or wrapped cells are compared by their first word.
                assert block.rows[-1][0].split()[0] in form


@pytest.mark.parametrize("kind", KINDS)
def test_pdf_is_the_same_each_time_tagged_and_titled(reports: dict[str, Any], kind: str) -> None:
    pdf = render_pdf(reports[kind])
    assert pdf == render_pdf(reports[kind])
    reader = PdfReader(io.BytesIO(pdf))
    assert "/StructTreeRoot" in reader.trailer["/Root"]
    assert reader.metadata is not None
    assert reports[kind].title in str(reader.metadata.title)
    assert reader.trailer["/Root"]["/Lang"] == "en"


def test_brief_fits_on_one_page(reports: dict[str, Any]) -> None:
    assert len(_pages(render_pdf(reports["brief"]))) == 1


def test_answer_sheet_begins_on_its_own_page(reports: dict[str, Any]) -> None:
    pages = _pages(render_pdf(reports["quiz"]))
    assert "Answer sheet" not in pages[0]
    first = next(page for page in pages if "Answer sheet" in page)
    assert "Name:" not in first
    assert all("outside the capture band" not in page for page in pages[: pages.index(first)])


@pytest.mark.parametrize("kind", KINDS)
def test_text_keeps_to_its_width(reports: dict[str, Any], kind: str) -> None:
    assert max(map(len, render_text(reports[kind]).splitlines())) <= WIDTH + 20


def test_chart_is_well_formed_and_to_scale() -> None:
    chart = BarChart("Title <b>", (Bar("a & b", 0.5, 0.25, 0.75, "1 of 2"),))
    root = etree.fromstring(chart_svg(chart).encode())
    space = "{http://www.w3.org/2000/svg}"
    assert root.find(f"{space}title").text == "Title <b>"
    bar = root.find(f"{space}rect")
    ticks = [float(line.get("x1")) for line in root.findall(f"{space}line")[:5]]
    assert float(bar.get("width")) == pytest.approx((ticks[4] - ticks[0]) * 0.5)
    whisker = root.findall(f"{space}line")[5]
    assert float(whisker.get("x1")) == pytest.approx(ticks[1])
    assert float(whisker.get("x2")) == pytest.approx(ticks[3])


_WILD = st.text(
    st.characters(blacklist_categories=("Cs", "Cc")) | st.sampled_from("<>&#$*_`[]{}\\\"'@=/"),
    min_size=1, max_size=30,
)  # fmt: skip


def _wild_look(text: str) -> StripLook:
    words = StripWords({"engagement": (Choice("no_guidance", "Off", "Off"),)})
    return paper_look(words, replace(DEFAULT_DESIGN, words={"no_guidance": text}))


def _wild_report(text: str) -> Report:
    return Report(
        text, text,
        (
            Heading(text), Paragraph(text), Facts(((text, text),)), Bullets((text,)),
            Bullets((text, text), is_numbered=True), Table((text,), ((text,),), marks=("ready",)),
            BarChart(text, (Bar(text, 0.1, 0.0, 1.0, text),)),
            Strips(text, (strip_picture(text, StripShown(Annunciation()), _wild_look(text)),)),
            Signatures((text,)), PageBreak(),
        ),
        "2026-03-10T12:00:00Z", "0.1.0",
    )  # fmt: skip


@given(_WILD)
@settings(max_examples=40, deadline=None)
def test_text_is_never_run_as_markup(text: str) -> None:
    report = _wild_report(text)
    html = render_html(report)
    assert " ".join(text.split()) in _html_words(html)
    assert etree.fromstring(chart_svg(report.blocks[6]).encode()) is not None  # type: ignore[arg-type]
    assert render_pdf(report).startswith(b"%PDF")
    assert text.strip()[:1] in render_text(report)


@pytest.mark.parametrize(
    "text",
    ["#panic()", "$x$", "*a*", "<script>alert(1)</script>", "{{ 7*7 }}", "// note", "\\u{41}"],
)
def test_markup_is_printed_as_it_stands(text: str) -> None:
    report = replace(_wild_report("plain"), blocks=(Paragraph(text),))
    assert text in _pdf_words(render_pdf(report))
    assert text in _html_words(render_html(report))
    assert "<script>" not in render_html(report)


def test_caution_stands_on_every_report(reports: dict[str, Any]) -> None:
    assert {report.caution for report in reports.values()} == {CAUTION}
