"""A differences briefing as one HTML file that needs nothing else, or as a PDF page."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined

from trainer.errors import MissingFileError
from trainer.records.field_check import moment_of
from trainer.report.delivery import form_of
from trainer.report.differences_briefing import Briefing
from trainer.text_file import write_whole


def briefing_html(page: Briefing) -> str:
    """Return the briefing as an HTML document."""
    environment = Environment(
        loader=PackageLoader("trainer.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return environment.get_template("differences.html").render(page=page)


def briefing_pdf(page: Briefing) -> bytes:
    """Return the briefing as a PDF page; the same briefing gives the same bytes.

    Raises:
        PdfError: If the library refuses it.
    """
    # The typesetter is large: whoever wants HTML doesn't wait for it.
    import typst  # noqa: PLC0415

    from trainer.report.render_pdf import PdfError  # noqa: PLC0415

    template = resources.files("trainer.report").joinpath("templates", "differences.typ")
    data = json.dumps(page.to_json(), ensure_ascii=False)
    try:
        return typst.compile(
            template.read_bytes(), format="pdf", sys_inputs={"briefing": data},
            timestamp=moment_of(page.made_utc),
        )  # fmt: skip
    except (typst.TypstError, RuntimeError) as error:
        raise PdfError(f"{page.title}: the page could not be made: {error}") from error


def write_briefing(page: Briefing, path: Path) -> None:
    """Write the briefing whole, as HTML or PDF by the file's ending.

    Raises:
        MissingFileError: The ending is neither, or the file can't be written.
        PdfError: The page could not be made.
    """
    form = check_ending(path)
    write_whole(path, briefing_html(page).encode() if form == "html" else briefing_pdf(page))


def check_ending(path: Path) -> str:
    """Return the form that a briefing's file name asks for: html or pdf.

    Raises:
        MissingFileError: It asks for neither.
    """
    form = form_of(path)
    if form not in ("html", "pdf"):
        raise MissingFileError(path, "a briefing has strips to show", "a name in .html or .pdf")
    return form
