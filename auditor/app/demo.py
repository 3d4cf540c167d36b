"""The made-up site that ships with the package: Quarry Road Veterinary Clinic, captured with a handful of faults."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import partial
from importlib.resources.abc import Traversable
from pathlib import Path

from auditor.app.auditing import audit
from auditor.app.publishing import publish
from auditor.app.rounds import Listener
from auditor.app.tally import Tally
from auditor.capture.interface import Captured, CaptureSource, NotCaptured
from auditor.capture.saving import RECORD, CaptureRecord, as_json
from auditor.core.days import Days
from auditor.core.report import Report
from auditor.evidence import Recorded
from auditor.plan.loader import Plan, parse
from auditor.reading.source import CaptureFile
from auditor.reports.writing import write_files
from auditor.resources import demo_root

PASSPHRASES = {"QUARRY_GUEST": "otters are welcome here"}
"""What the demo's plan takes from the environment."""


@dataclass(frozen=True, slots=True)
class DemoDone:
    """What the demo came to: its exit code, its report, and what went wrong while it was written."""

    exit_code: int
    report: Report
    problems: tuple[str, ...]


def run_demo(
    out: str | Path | None = None, *, group: bool = False, told: Listener | None = None, today: date | None = None
) -> DemoDone:
    """Audit the made-up site: what ``auditor demo`` does.

    Args:
        out: where its plan, captures and reports are written; nowhere if unsaid.
        group: whether the umask says who may read them, and not their owner alone.
        told: who is told how it goes.
        today: the day on which it is handed over; the calendar's if unsaid.
    """
    listener, today = told or Listener(), today or date.today()  # noqa: DTZ011 - the day of whoever runs it
    tally, folder = Tally(listener.problem), Path(out) if out is not None else None
    recorded = Recorded(demo_plan(), demo_captures(today), PASSPHRASES) if folder else None
    report = demo_report(today, recorded)
    tally.add(report.exit_code)
    if folder:
        tally.attempt("demo", partial(write_demo, folder, today, group=group))
    shown = partial(publish, "demo", report, folder and folder / "report", recorded, listener.site)
    tally.attempt("demo", partial(shown, group=group, environment=PASSPHRASES))
    return DemoDone(tally.code, report, tuple(tally.problems))


class _DemoCaptures:
    """The demo's captures, read where the package keeps them, as if on a given day."""

    def __init__(self, folder: Traversable, today: date) -> None:
        self._day = Days(record=today)
        self._files: dict[str, list[CaptureFile]] = {}
        for name, data in _files(folder):
            device = name.partition("/")[0].partition(".")[0]
            self._files.setdefault(device, []).append(CaptureFile(name, data))

    def capture(self, device: str) -> Captured | NotCaptured:
        """Return a device's capture."""
        files = self._files[device]
        return Captured(files, days=(self._day,) * len(files))


def demo_plan() -> Plan:
    """Return the demo's plan."""
    return parse("plan.yaml", demo_root().joinpath("plan.yaml").read_bytes())


def demo_captures(today: date) -> CaptureSource:
    """Return the demo's captures, made on a day."""
    return _DemoCaptures(demo_root().joinpath("drifted"), today)


def demo_report(today: date, source: CaptureSource | None = None) -> Report:
    """Audit the demo's captures against its plan, as on the day of hand-over, on which they were made."""
    captures = source or demo_captures(today)
    return audit(demo_plan(), captures, occasion="acceptance", today=today, environment=PASSPHRASES)


def write_demo(folder: Path, today: date, *, group: bool = False) -> None:
    """Write the demo's plan and captures, to be looked at, broken and audited again.

    Beside each capture stands a record that it was made on the given day. The files are for their owner alone, unless
    ``group`` leaves that to the umask.

    Raises:
        ReportError: a file cannot be written.
    """
    root, plan, captures = demo_root(), demo_plan(), demo_captures(today)
    files = {f"captures/{name}": data for name, data in _files(root.joinpath("drifted"))}
    noon = datetime.combine(today, time(12)).astimezone()
    for device, entry in plan.data.devices.items():
        made = captures.capture(device)
        if isinstance(made, Captured):
            record = CaptureRecord(device, str(entry.address), entry.platform, ("",) * len(made.files), noon, noon)
            files[f"captures/{device}/{RECORD}"] = as_json(record, made.files)
    write_files(folder, {"plan.yaml": root.joinpath("plan.yaml").read_bytes(), **files}, group=group)


def _files(folder: Traversable, prefix: str = "") -> Iterator[tuple[str, bytes]]:
    for entry in sorted(folder.iterdir(), key=lambda e: e.name):
        name = f"{prefix}{entry.name}"
        if entry.is_dir():
            yield from _files(entry, f"{name}/")
        else:
            yield name, entry.read_bytes()
