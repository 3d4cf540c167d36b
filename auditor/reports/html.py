"""report.html: one self-contained page without script, for screens of any width and for paper."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template

from auditor.reports.interface import Format
from auditor.reports.view import View, harmless
from auditor.resources import read_text


def _render(view: View) -> bytes:
    return (_template().render(view=view, report=view.report, style=read_text("reports", "report.css")) + "\n").encode()


@cache
def _template() -> Template:
    environment = Environment(
        loader=FunctionLoader(lambda name: read_text("reports", name)),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["harmless"] = harmless
    return environment.get_template("report.html.j2")


FORMAT = Format("report.html", _render)
