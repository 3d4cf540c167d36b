"""What was understood of one capture, on a terminal or for machines."""

from __future__ import annotations

import json
import sys
from datetime import date
from typing import Any

from rich.console import Console
from rich.text import Text

from auditor.areas import Reading
from auditor.compare.age import Dated
from auditor.core.state import AREAS, KEYED_AREAS, DeviceState
from auditor.reading.source import Disposition
from auditor.reports.dating import day_words
from auditor.reports.sanitize import sanitize
from auditor.reports.view import words

_KIND_WORDS = {
    Disposition.READ: "read",
    Disposition.HARMLESS: "harmless",
    Disposition.LIMIT: "limits",
    Disposition.OVERRIDING: "overriding",
    Disposition.NOT_UNDERSTOOD: "not understood",
    Disposition.OUTSIDE: "outside of audited areas",
    Disposition.COMMENT: "comments",
    Disposition.LITERAL: "banners and certificates",
    Disposition.NOISE: "prompts and messages",
    Disposition.BLANK: "blank",
}

_LINE_WORDS = _KIND_WORDS | {
    Disposition.UNSEEN: "unseen",
    Disposition.LIMIT: "limit",
    Disposition.OUTSIDE: "outside",
    Disposition.COMMENT: "comment",
    Disposition.LITERAL: "banner or text",
    Disposition.NOISE: "prompt or message",
}


def reading_json(reading: Reading, day: Dated | None = None) -> str:
    """Return a reading as JSON text; ``day`` is that of the capture."""
    captured = day and day.captured
    return json.dumps(
        {
            "platform": reading.platform,
            "hostname": reading.state.hostname,
            "lines": reading.line_count,
            "audited_lines": reading.audited_lines,
            "state": reading.state.as_json(),
            "not_understood": [line.model_dump() for line in reading.quoted_not_understood()],
            "limits": [line.model_dump() for line in reading.bearing(Disposition.LIMIT)],
            "overriding": [line.model_dump() for line in reading.bearing(Disposition.OVERRIDING)],
            "complete": reading.complete,
            "problem": reading.problem or None,
            "not_shown": {str(setting): hint for setting, hint in reading.not_shown.items()},
            "accounted": {_KIND_WORDS[kind]: reading.count([kind]) for kind in _KIND_WORDS},
            "remarks": [{"line": line.line, "file": line.file, "text": text} for line, text in reading.remarked()],
            "captured": captured.model_dump(mode="json") if captured else None,
            "notes": day.notes if day else [],
        },
        indent=2,
        ensure_ascii=False,
    )


def show_reading(reading: Reading, day: Dated, today: date, console: Console | None = None) -> None:
    """Print a reading: the day of the capture, every setting, then what became of the lines."""
    out = console or Console(file=sys.stdout, highlight=False, soft_wrap=True)
    out.print(Text(f"{sanitize(reading.state.hostname or 'no name')} · {reading.platform}", "bold"))
    out.print(Text(f"captured on {day_words(day.captured, today)}"))
    for note in day.notes:
        out.print(Text(f"  {sanitize(note)}"))
    for area in AREAS[1:]:
        _area(area, reading.state, out)
    out.print()
    out.print(Text("Lines", "bold"))
    for kind, text in _KIND_WORDS.items():
        count = reading.count([kind])
        if count:
            out.print(Text(f"  {count:6} {text}", "bold magenta" if kind is Disposition.NOT_UNDERSTOOD else ""))
    out.print(Text(f"  {reading.line_count:6} in all, {reading.audited_lines} of audited areas"))
    for kind in (Disposition.OVERRIDING, Disposition.LIMIT):
        for bearing in reading.bearing(kind):
            on = f" (bears on {', '.join(map(sanitize, bearing.bears_on))})" if bearing.bears_on else ""
            place = f"{sanitize(bearing.file)}:{bearing.line}: {sanitize(bearing.text).strip()}"
            out.print(Text(f"{_KIND_WORDS[kind]}  {place}: {sanitize(bearing.why)}{on}"))
    for line in reading.quoted_not_understood():
        out.print(Text(f"not understood  {sanitize(line.file)}:{line.line}: {sanitize(line.text).strip()}", "magenta"))
    for line, text in reading.remarked():
        out.print(Text(f"remark  {sanitize(line.file)}:{line.line}: {sanitize(text)}"))
    for setting, hint in reading.not_shown.items():
        out.print(Text(f"not shown  {setting}: {hint}", "magenta"))
    if reading.problem:
        out.print(Text(f"not a whole configuration: {sanitize(reading.problem)}", "bold magenta"))


def show_lines(reading: Reading, console: Console | None = None) -> None:
    """Print every line with what became of it and, where it is in a closed list, the reason."""
    out = console or Console(file=sys.stdout, highlight=False, soft_wrap=True)
    width = max(map(len, _LINE_WORDS.values()))
    for line, kind, why in reading.every_line():
        reason = f"  [{sanitize(why)}]" if why else ""
        style = "bold magenta" if kind >= Disposition.LIMIT else ""
        place = f"{sanitize(line.file)}:{line.line}"
        out.print(Text(f"{_LINE_WORDS[kind]:{width}}  {place}: {sanitize(line.text)}{reason}", style))


def _area(area: str, state: DeviceState, out: Console) -> None:
    found: Any = getattr(state, area)
    items = {str(key): item.model_dump(mode="json") for key, item in found.items()} if area in KEYED_AREAS else {}
    if area == "management":
        items = {"": found.model_dump(mode="json")}
    out.print()
    out.print(Text(f"{area} ({len(items)})" if area in KEYED_AREAS else area, "bold"))
    for key, item in items.items():
        out.print(Text(f"  {sanitize(key)}  " if key else "  ", "bold") + Text(words(item)))
