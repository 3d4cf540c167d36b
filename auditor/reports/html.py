"""report.html: one self-contained page without script, for screens of any width and for paper."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template

from auditor.reports.harmless import harmless
from auditor.reports.interface import Format
from auditor.reports.picture import pictures
from auditor.reports.serving import LAYER_NOTE
from auditor.reports.view import View
from auditor.resources import read_text


def _render(view: View) -> bytes:
    style = "".join(read_text("reports", name) for name in ("report.css", "picture.css"))
    page = _template().render(view=view, report=view.report, pictures=pictures(view.report), style=style)
    return f"{page}\n".encode()


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
    environment.globals["layer_note"] = LAYER_NOTE
    return environment.get_template("report.html.j2")


FORMAT = Format("report.html", _render)
