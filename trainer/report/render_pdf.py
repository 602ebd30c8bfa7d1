"""A report as PDF pages (A4), typeset by the `typst` library from a template and JSON.

The same report gives the same bytes: the date inside is the report's own.
"""

from __future__ import annotations

import json
from importlib import resources

import typst

from trainer.errors import TrainerError
from trainer.records.field_check import moment_of
from trainer.report.page import BarChart, Report, Strips
from trainer.report.render_html import chart_svg

_FONT = "Libertinus Serif"
"""Comes with the library, so that pages are the same on every machine."""


class PdfError(TrainerError):
    """A report that could not be typeset."""


def render_pdf(report: Report) -> bytes:
    """Return the report as a PDF document, tagged for screen readers.

    Raises:
        PdfError: If the library refuses it.
    """
    data = report.to_json()
    for block, plain in zip(report.blocks, data["blocks"], strict=True):
        if isinstance(block, BarChart):
            plain["svg"] = chart_svg(block, _FONT)
        elif isinstance(block, Strips):
            for picture in plain["pictures"]:
                picture["svg"] = picture["svg"].replace("<svg ", f'<svg font-family="{_FONT}" ', 1)
    try:
        return typst.compile(
            resources.files("trainer.report").joinpath("templates", "report.typ").read_bytes(),
            format="pdf",
            sys_inputs={"report": json.dumps(data, ensure_ascii=False)},
            timestamp=moment_of(report.made_utc),
        )
    except (typst.TypstError, RuntimeError) as error:
        raise PdfError(f"{report.title}: the pages could not be made: {error}") from error
