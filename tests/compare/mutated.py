"""Captures and plans with random faults: numbers and addresses that cannot be, words lost, lines that moved."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

from auditor.app.auditing import audit
from auditor.app.expectation import expectation_files
from auditor.areas import read
from auditor.core.report import Report
from auditor.errors import PlanError
from auditor.evidence import Recorded
from auditor.plan.loader import parse
from auditor.reading.source import CaptureFile
from auditor.reports import FORMATS
from auditor.reports.reading import reading_json
from auditor.reports.view import view_of
from auditor.review import review
from tests.compare.site import MIXED, PASSPHRASES, PLATFORM_SITES, SITES, TODAY, Site, conforming, drifted, plan_text
from tests.conftest import FIXTURES

_NUMBER, _ADDRESS, _WORD = (re.compile(form) for form in (r"\d+", r"\d+\.\d+\.\d+\.\d+", r"\S+"))
_NUMBERS = [
    *[
        "0",
        "1",
        "-1",
        "00",
        "31",
        "32",
        "33",
        "255",
        "256",
        "4094",
        "4095",
        "4096",
        "5000",
        "65535",
        "65536",
        "1000000",
    ],
    *[
        "4294967295",
        "4294967296",
        "9" * 40,
        "9" * 4500,
        "0x10",
        "1e5",
        "1-0",
        "1-4094",
        "1-5000",
        "4094-1",
        "-",
        ",",
        ":",
    ],
    *["\N{ARABIC-INDIC DIGIT THREE}", "\N{SUPERSCRIPT TWO}"],
]
_ADDRESSES = [
    *["0.0.0.0", "255.255.255.255", "127.0.0.1", "224.0.0.1", "300.1.1.1", "10.40.10", "010.040.010.001", "::1"],
    *["0.0.0.0/0", "10.0.0.0/31", "10.0.0.1/32", "10.0.0.0/33", "1.2.3.4-0.0.0.0", "0.0.0.0-255.255.255.255"],
]
_TEXTS = [
    *["{", "}", "[", "]", "(", ")", "{{", "'", '"', "``", "\\", "$(reboot)", "%", "*", "?", "=", "/", "|", "!", "#"],
    *["None", "null", "all", "any", "no", "undo", "delete", "set", "é", "日本", "\t", "\r", "\x00", "\x08", "\x1b[2J"],
    *["\ud800", "\u202e", "\ue000", "x" * 5000],
]


def mutated(chance: random.Random, text: str) -> str:
    """Return a text with one fault or several."""
    lines = text.split("\n")
    for _ in range(chance.choice([1, 1, 1, 2, 3, 5, 10])):
        chance.choice(_CHANGES)(chance, lines)
        lines = lines or [""]
    return "\n".join(lines)


def _line(chance: random.Random, lines: list[str]) -> None:
    at = chance.randrange(len(lines))
    lines[at] = chance.choice(_LINE_CHANGES)(chance, lines[at])


def _lost(chance: random.Random, lines: list[str]) -> None:
    at = chance.randrange(len(lines))
    del lines[at : at + chance.choice([1, 1, 1, 3])]


def _twice(chance: random.Random, lines: list[str]) -> None:
    at, more = chance.randrange(len(lines)), chance.choice([1, 1, 3])
    lines[at:at] = lines[at : at + more]


def _moved(chance: random.Random, lines: list[str]) -> None:
    one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]


def _swapped(chance: random.Random, lines: list[str]) -> None:
    """Let two numbers or addresses change places that stand on lines near each other, as the ends of a range do."""
    form = chance.choice([_ADDRESS, _NUMBER])
    having = [at for at, line in enumerate(lines) if form.search(line)]
    if len(having) > 1:
        first = chance.randrange(len(having) - 1)
        one, other = having[first], having[min(len(having) - 1, first + chance.randrange(1, 4))]
        mine, theirs = form.findall(lines[one])[-1], form.findall(lines[other])[-1]
        lines[one] = lines[one].replace(mine, theirs)
        lines[other] = lines[other].replace(theirs, mine)


_CHANGES = (*(_line,) * 8, _lost, _twice, _moved, _swapped, _swapped, _swapped)


def _piece(form: re.Pattern[str], others: list[str]) -> Callable[[random.Random, str], str]:
    """Return what puts one of some texts in the place of a piece of a line."""

    def change(chance: random.Random, line: str) -> str:
        found = list(form.finditer(line))
        if not found:
            return f"{line} {chance.choice(others)}"
        here = chance.choice(found)
        return line[: here.start()] + chance.choice(others) + line[here.end() :]

    return change


def _backwards(chance: random.Random, line: str) -> str:
    found = list(_ADDRESS.finditer(line)) or list(_NUMBER.finditer(line))
    if len(found) < 2:
        return line
    at = chance.randrange(len(found) - 1)
    one, other = found[at], found[at + 1]
    return line[: one.start()] + other[0] + line[one.end() : other.start()] + one[0] + line[other.end() :]


def _cut(chance: random.Random, line: str) -> str:
    start, end = sorted(chance.choices(range(len(line) + 1), k=2))
    return chance.choice([line[:start], line[end:], line[:start] + line[end:], line[start:end]])


def _spoilt(chance: random.Random, line: str) -> str:
    at = chance.randrange(len(line) + 1)
    return line[:at] + chance.choice(_TEXTS) + line[at:]


_LINE_CHANGES = (
    _piece(_NUMBER, _NUMBERS),
    _piece(_NUMBER, _NUMBERS),
    _piece(_ADDRESS, _ADDRESSES),
    _piece(_WORD, [""]),
    _piece(_WORD, [*_NUMBERS, *_ADDRESSES, *_TEXTS]),
    _backwards,
    _cut,
    _spoilt,
    lambda chance, line: " " * chance.randrange(9) + line.lstrip(),
    lambda chance, line: chance.choice([line.upper(), line.lower()]),
)


def sites() -> dict[str, Site]:
    """Return all sites of fixtures."""
    found = {name: conforming(name) for name in (*SITES, MIXED, *PLATFORM_SITES)}
    return found | {f"{name}, drifted": drifted(name) for name in ("quarry-road", MIXED)}


def tries(chance: random.Random) -> Iterator[tuple[str, Callable[[], object]]]:
    """Yield, without end, what is tried, by the name of what has the faults."""
    every = sites()
    folders = [folder for folder in sorted((FIXTURES / "platforms").glob("*/*")) if folder.is_dir()]
    while True:
        folder = chance.choice(folders)
        files = [
            CaptureFile(p.name, p.read_bytes())
            for p in sorted(folder.rglob("*"))
            if p.suffix != ".yaml" and p.is_file()
        ]
        at = chance.randrange(len(files))
        files[at] = CaptureFile(files[at].name, _octets(mutated(chance, files[at].data.decode(errors="replace"))))
        yield f"read {folder.relative_to(FIXTURES)}", partial(_read, folder.parent.name, files)
        name, site = chance.choice(list(every.items()))
        file = chance.choice(list(site.files))
        spoilt = site.having(file, _octets(mutated(chance, site.files[file].decode(errors="replace"))))
        yield f"audit {name} {file}", partial(_audited, spoilt, evidence=chance.random() < 0.2)
        name = chance.choice([*SITES, MIXED, *PLATFORM_SITES])
        text = mutated(chance, plan_text(name))
        yield f"plan of {name}", partial(_planned, every[name], text)


def _octets(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")


def _read(platform: str, files: list[CaptureFile]) -> None:
    reading = read(platform, files)
    reading_json(reading)
    assert reading.blocks is not None


def _audited(site: Site, *, evidence: bool) -> Report:
    """Audit a site, and make its report in every format that is quick to make.

    Raises:
        AssertionError: something went wrong within a device that nobody foresaw.
    """
    source = Recorded(site.plan, site) if evidence else site
    report = audit(site.plan, source, today=TODAY, environment=PASSPHRASES)
    faults = [device.reason for device in report.devices if "fault of auditor" in (device.reason or "")]
    assert not faults, faults
    view = view_of(report)
    for form in FORMATS if evidence else ():
        if form.file not in ("report.pdf", "findings.xlsx"):
            form.render(view)
    return report


def _planned(site: Site, text: str) -> object:
    """Load, review, write out and audit against a plan, if it is one."""
    try:
        plan = parse("plan.yaml", _octets(text))
        plan.require_devices()
    except PlanError:
        return None
    review(plan, PASSPHRASES)
    expectation_files(plan)
    return _audited(replace(site, plan=plan), evidence=False)
