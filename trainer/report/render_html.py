"""A report as one HTML file that needs nothing else: styles and charts are inside."""

from __future__ import annotations

from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined

from trainer.report.page import BarChart, Report


@lru_cache(maxsize=1)
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("trainer.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def render_html(report: Report) -> str:
    """Return the report as an HTML document."""
    return _environment().get_template("report.html").render(report=report, chart_svg=chart_svg)


def chart_svg(chart: BarChart, font: str = "inherit") -> str:
    """Return a bar chart as SVG; the figures are written out too, nothing rests on colour."""
    return _environment().get_template("bars.svg").render(chart=chart, font=font)
