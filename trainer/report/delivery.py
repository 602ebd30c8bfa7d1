"""A report in the form that is asked for, and any output written whole or not at all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from trainer.errors import MissingFileError
from trainer.report.page import Report
from trainer.report.render_html import render_html
from trainer.report.render_text import render_text
from trainer.text_file import write_whole

FORMS = ("text", "html", "pdf")
_FORM_OF_ENDING = {".txt": "text", ".html": "html", ".htm": "html", ".pdf": "pdf"}


def render(report: Report, form: str) -> bytes:
    """Return the report as text, html or pdf.

    Raises:
        ValueError: If the form is none of `FORMS`.
        PdfError: If the pages could not be made.
    """
    renderers: dict[str, Callable[[Report], bytes]] = {
        "text": lambda one: render_text(one).encode(),
        "html": lambda one: render_html(one).encode(),
        "pdf": _pdf,
    }
    if form not in renderers:
        raise ValueError(f"form {form!r}; accepted: {', '.join(FORMS)}")
    return renderers[form](report)


def form_of(path: Path) -> str:
    """Return the form that a file's ending asks for.

    Raises:
        MissingFileError: If the ending is none of those known.
    """
    form = _FORM_OF_ENDING.get(path.suffix.lower())
    if form is None:
        accepted = ", ".join(_FORM_OF_ENDING)
        raise MissingFileError(path, f"no report has the ending {path.suffix!r}", accepted)
    return form


def write_report(report: Report, path: Path) -> None:
    """Write the report in the form of the file's ending."""
    write_whole(path, render(report, form_of(path)))


def _pdf(report: Report) -> bytes:
    # The typesetter is large: whoever wants text or HTML doesn't wait for it.
    from trainer.report.render_pdf import render_pdf  # noqa: PLC0415

    return render_pdf(report)
