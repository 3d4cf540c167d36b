"""The made-up site that ships with the package: Quarry Road Veterinary Clinic, captured with a handful of faults."""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources.abc import Traversable
from pathlib import Path

from auditor.auditing import audit
from auditor.capture.interface import Captured, NotCaptured, Source
from auditor.model.report import Report
from auditor.plan.loader import Plan, parse
from auditor.reading.source import Source as File
from auditor.reports.writing import write_atomically
from auditor.resources import demo_root

PASSPHRASES = {"QUARRY_GUEST": "otters are welcome here"}
"""What the demo's plan takes from the environment."""


class _DemoCaptures:
    """The demo's captures, read where the package keeps them."""

    def __init__(self, folder: Traversable) -> None:
        self._files: dict[str, list[File]] = {}
        for name, data in _files(folder):
            device = name.partition("/")[0].partition(".")[0]
            self._files.setdefault(device, []).append(File(name, data))

    def capture(self, device: str) -> Captured | NotCaptured:
        """Return a device's capture."""
        return Captured(self._files[device])


def demo_plan() -> Plan:
    """Return the demo's plan."""
    return parse("plan.yaml", demo_root().joinpath("plan.yaml").read_bytes())


def demo_captures() -> Source:
    """Return the demo's captures."""
    return _DemoCaptures(demo_root().joinpath("drifted"))


def demo_report(source: Source | None = None) -> Report:
    """Audit the demo's captures against its plan, as on the day of hand-over."""
    return audit(demo_plan(), source or demo_captures(), occasion="acceptance", environment=PASSPHRASES)


def write_demo(folder: Path, *, group: bool = False) -> None:
    """Write the demo's plan and captures, to be looked at, broken and audited again.

    The files are for their owner alone, unless ``group`` leaves that to the umask.

    Raises:
        ReportError: a file cannot be written.
    """
    root = demo_root()
    write_atomically(folder / "plan.yaml", root.joinpath("plan.yaml").read_bytes(), group=group)
    for name, data in _files(root.joinpath("drifted")):
        write_atomically(folder / "captures" / name, data, group=group)


def _files(folder: Traversable, prefix: str = "") -> Iterator[tuple[str, bytes]]:
    for entry in sorted(folder.iterdir(), key=lambda e: e.name):
        name = f"{prefix}{entry.name}"
        if entry.is_dir():
            yield from _files(entry, f"{name}/")
        else:
            yield name, entry.read_bytes()
