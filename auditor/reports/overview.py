"""overview.html and overview.json: all sites on one page, for the morning after the monthly round.

The page is a plain table that needs no script. A short one beside it, named to the browser by its hash, filters and
sorts.
"""

from __future__ import annotations

import base64
import hashlib
from dataclasses import dataclass

from auditor.core.history import Overview, SiteLine
from auditor.core.report import CONSEQUENCES, Verdict
from auditor.reports.headline import verdict_words
from auditor.reports.html import environment
from auditor.reports.sanitize import sanitize
from auditor.reports.view import CONSEQUENCE_SIGNS, CONSEQUENCE_WORDS
from auditor.resources import read_text

VERDICT_SIGNS: dict[Verdict, str] = {"conforming": "=", "nonconforming": "≠", "incomplete": "?"}
_VERDICTS: tuple[Verdict, ...] = ("nonconforming", "incomplete", "conforming")
_LONGEST_NAME = 120
_TALLEST = 8
"""Findings that a bar shows to scale; where there are more, the figure beside it tells how many."""
_STEP, _MOST_BARS = 5, 12


@dataclass(frozen=True, slots=True)
class SiteRow:
    """A site's line in words.

    Attributes:
        verdict, words: its verdict, and how it is said: what is incomplete may be nonconforming as well.
        kinds: what the line is found under: one verdict or both, ``overdue``, ``never``.
        rank: where the worst of these stands among verdicts.
        figures: the findings of each consequence.
        bars: the trend as an SVG path, the newest audit at the right.
        trend, ends: the trend in numbers, and its last in the light of its first.
        change: the last number less the first.
    """

    name: str
    reference: str
    sign: str
    verdict: Verdict
    words: str
    kinds: str
    rank: int
    figures: list[int]
    bars: str
    trend: str
    ends: str
    change: int
    line: SiteLine
    read: str


def overview_files(overview: Overview) -> dict[str, bytes]:
    """Return the files of an overview by their names."""
    script = read_text("reports", "overview.js")
    page = (
        environment()
        .get_template("overview.html.j2")
        .render(
            overview=overview,
            rows=[_row(line) for line in overview.sites],
            headline=headline(overview),
            counts=_counts(overview),
            consequences=[(name, CONSEQUENCE_SIGNS[name], CONSEQUENCE_WORDS[name]) for name in CONSEQUENCES],
            verdicts=_VERDICTS,
            style=read_text("reports", "report.css") + read_text("reports", "overview.css"),
            script=script,
            script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
        )
    )
    return {"overview.html": f"{page}\n".encode(), "overview.json": f"{overview.model_dump_json()}\n".encode()}


def headline(overview: Overview) -> str:
    """Return the figures in a sentence."""
    counts = {words: count for count, words, _ in _counts(overview)}
    total = counts.pop("sites")
    told = [f"{count} {words}" for words, count in counts.items() if count]
    sites = "1 site" if total == 1 else f"{total} sites"
    return f"{sites}: {', '.join(told)}." if told else f"{sites}."


def _counts(overview: Overview) -> list[tuple[int, str, str]]:
    """Return figures, what each counts, and how lines of it are marked."""
    lines = overview.sites
    return [
        (len(lines), "sites", ""),
        *((sum(verdict in _verdicts(line) for line in lines), verdict, verdict) for verdict in _VERDICTS),
        (sum(line.overdue for line in lines), "overdue", "overdue"),
        (sum(not line.ever_complete for line in lines), "never read completely", "never"),
    ]


def _verdicts(line: SiteLine) -> list[Verdict]:
    """Return the verdict of a site, and that it is nonconforming where it is incomplete and has findings as well."""
    both = line.verdict == "incomplete" and any(line.open.values())
    return [line.verdict, "nonconforming"] if both else [line.verdict]


def _row(line: SiteLine) -> SiteRow:
    kinds = [*_verdicts(line), "overdue" if line.overdue else "", "" if line.ever_complete else "never"]
    return SiteRow(
        name=_short(line.site),
        reference=_short(line.reference),
        sign=VERDICT_SIGNS[line.verdict],
        verdict=line.verdict,
        words=verdict_words(line.verdict, nonconforming=any(line.open.values())),
        kinds=" ".join(kind for kind in kinds if kind),
        rank=min(map(_VERDICTS.index, _verdicts(line))),
        figures=[line.open[consequence] for consequence in CONSEQUENCES],
        bars=_bars(line.trend),
        trend=", ".join(str(count) for count in line.trend),
        ends=_ends(line.trend),
        change=line.trend[-1] - line.trend[0],
        line=line,
        read=_read(line),
    )


def _short(text: str) -> str:
    shown = sanitize(text[:_LONGEST_NAME])
    return f"{shown}…" if len(text) > _LONGEST_NAME else shown


def _bars(trend: list[int]) -> str:
    """Return a path of upright strokes, one an audit; a stroke of one unit is none found."""
    places = range(_MOST_BARS - len(trend), _MOST_BARS)
    heights = (1 + 2 * min(count, _TALLEST) for count in trend)
    return "".join(f"M{place * _STEP + 2} 18v-{height}" for place, height in zip(places, heights, strict=True))


def _ends(trend: list[int]) -> str:
    first, last = trend[0], trend[-1]
    if len(trend) == 1:
        return f"{last}, first audit"
    if last == first:
        return f"{last}, level"
    return f"{last}, {'down' if last < first else 'up'} from {first}"


def _read(line: SiteLine) -> str:
    if line.complete:
        return "completely"
    devices = {0: "not completely", 1: "1 device not audited"}.get(line.unread, f"{line.unread} devices not audited")
    return devices if line.ever_complete else f"{devices}, never completely"
