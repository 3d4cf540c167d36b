"""Sites whose captures conform, in memory: change a line, audit, and see what the report says."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from difflib import SequenceMatcher
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from auditor.app.auditing import audit
from auditor.app.demo import PASSPHRASES as DEMO_PASSPHRASES
from auditor.capture.interface import Captured, NotCaptured
from auditor.core.days import Days
from auditor.core.report import Report, Unverified
from auditor.plan.loader import Plan, load, parse
from auditor.reading.source import CaptureFile
from tests.conftest import FIXTURES, from_yaml

NETWORKS = FIXTURES / "networks"
DRIFTS = FIXTURES / "drifts"
TODAY = date(2026, 11, 25)
SITES = ("quarry-road", "harbour-bakery", "fernhill-guesthouse", "tannery-studios")
MIXED = "millrace-dental"
"""A site of five makes, which is also there with drifts, and with what they mean."""
PASSPHRASES = {
    **DEMO_PASSPHRASES,
    "BAKERY_GUEST": "fresh rolls at seven",
    "FERN_GUEST": "ferns grow in the shade",
    "FERN_STAFF": "beds are made by noon",
    "TANNERY_GUEST": "oak bark and patience",
    "MILLRACE_GUEST": "teeth like new in a week",
}
"""What the plans take from the environment; all invented."""
PLATFORM_SITES = tuple(sorted(folder.name for folder in DRIFTS.iterdir() if folder.is_dir()))
"""Small sites of one platform each: ``plan.yaml``, ``conforming/`` and ``drift``, ``harmless``, ``damaged`` as YAML."""


@dataclass(frozen=True)
class Site:
    """A plan and the files of its devices' captures, by their name below the folder of captures.

    It is the source of its own captures: ``audit(site.plan, site)``. Where ``days`` says nothing else of a
    device, they were made on the day that it is audited on.
    """

    plan: Plan
    files: dict[str, bytes] = field(default_factory=dict)
    days: dict[str, Days] = field(default_factory=dict)

    def capture(self, device: str) -> Captured | NotCaptured:
        """Return the files that are named after a device or lie in the folder named after it."""
        found = [CaptureFile(name, data) for name, data in self.files.items() if device_of(name) == device]
        days = (self.days.get(device, Days(record=TODAY)),) * len(found)
        return Captured(found, days=days) if found else NotCaptured(f"nothing is saved of {device}")

    def text(self, name: str) -> str:
        """Return a file's text."""
        return self.files[name].decode()

    def line(self, name: str, number: int) -> str:
        """Return a line of a file without the blanks around it; the first is 1."""
        return self.text(name).split("\n")[number - 1].strip()

    def having(self, name: str, data: str | bytes) -> Site:
        """Return the site with other contents of one file."""
        return replace(self, files={**self.files, name: data.encode() if isinstance(data, str) else data})

    def without(self, *names: str) -> Site:
        """Return the site without some files."""
        return replace(self, files={name: data for name, data in self.files.items() if name not in names})

    def files_of(self, device: str) -> list[str]:
        """Return the names of a device's files."""
        return [name for name in self.files if device_of(name) == device]

    def report(self, **options: Any) -> Report:
        """Audit the site on a day that never changes, with the invented passphrases."""
        return audit(self.plan, self, **{"today": TODAY, "environment": PASSPHRASES, **options})

    def audited(self, **options: Any) -> Report:
        """Do the same where nobody looks at proposals; none is made, which saves half of the time."""
        return self.report(corrections=False, **options)


def unseen(report: Report) -> list[Unverified]:
    """Return what is unverified beside planned isolation, which no platform's packet filters are read for."""
    return [item for item in report.unverified if (item.cause, item.setting.area) != ("cannot", "isolation")]


def device_of(name: str) -> str:
    """Return the device that a file belongs to: its folder, or its name without the ending."""
    return name.partition("/")[0].partition(".")[0]


def made_of(plan: dict[str, Any], captures: dict[str, str]) -> Site:
    """Return a site from the data of its plan and the texts of its captures."""
    text = yaml.safe_dump(plan, sort_keys=False)
    return Site(parse("plan.yaml", text.encode()), {file: told.encode() for file, told in captures.items()})


@cache
def conforming(name: str) -> Site:
    """Return one of the sites of fixtures/networks, or a platform's, with its conforming captures."""
    return _site(name, "conforming")


def drifted(name: str) -> Site:
    """Return a site of fixtures/networks with its drifted captures."""
    return _site(name, "drifted")


def files_of(name: str, captures: str = "conforming") -> dict[str, Path]:
    """Return where the captures of a site are, by their names below the folder of captures; nothing is read."""
    folder = _home(name) / captures
    return {path.relative_to(folder).as_posix(): path for path in sorted(folder.rglob("*")) if path.is_file()}


def _site(name: str, captures: str) -> Site:
    return Site(load(_home(name) / "plan.yaml"), {file: p.read_bytes() for file, p in files_of(name, captures).items()})


def _home(name: str) -> Path:
    return DRIFTS / name if name in PLATFORM_SITES else NETWORKS / name


def cases(*files: Path) -> list[dict[str, Any]]:
    """Return the cases of data files; nobody changes them."""
    return [case for file in files for case in _cases_in(file)]


@cache
def _cases_in(file: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = from_yaml(file.read_bytes())
    return found


def drift_cases() -> list[dict[str, Any]]:
    """Return the cases of one realistic change each."""
    return cases(*sorted(DRIFTS.glob("drift-*.yaml")), *sorted(DRIFTS.glob("*/drift.yaml")))


def case_id(case: dict[str, Any]) -> str:
    """Return what a case is called in a test's name."""
    return f"{case['file']}: {case['case']}"


def changed(case: dict[str, Any]) -> tuple[Site, str]:
    """Return the site of a case with its changes made, and the name of the file that they are in."""
    name, _, file = case["file"].partition("/")
    site = conforming(name)
    text = site.text(file)
    for change in case["changes"]:
        text = edited(text, **change)
    if "cut" in case:
        text = text[: text.rindex(case["cut"]) + len(case["cut"])]
    if "plan" in case:
        site = replace(site, plan=parse("plan.yaml", edited(plan_text(name), **case["plan"]).encode()))
    return site.having(file, text), file


def plan_text(name: str) -> str:
    """Return the plan of a site as it is written."""
    return (_home(name) / "plan.yaml").read_text(encoding="utf-8")


def edited(text: str, old: str, new: str, below: str = "", everywhere: bool = False) -> str:
    """Return the text with ``old`` once replaced: the first one below a line, or else the only one there is."""
    if everywhere:
        assert old in text, f"{old!r} is not there"
        return text.replace(old, new)
    start = text.index(f"{below}\n") if below else 0
    assert old in text[start:], f"{old!r} is not there"
    assert below or text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
    at = text.index(old, start)
    return text[:at] + new + text[at + len(old) :]


def new_lines(before: str, after: str) -> set[int]:
    """Return the numbers of the lines of ``after`` that are not in ``before``."""
    old, new = before.split("\n"), after.split("\n")
    steps = SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    return {line + 1 for kind, _, _, start, end in steps if kind != "equal" for line in range(start, end)}
