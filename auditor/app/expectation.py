"""What ``auditor expected`` writes: a plan's expected settings as files, normalized and native."""

from __future__ import annotations

import json
from pathlib import Path

from auditor.areas import Expected, expected_of
from auditor.core.state import DeviceState
from auditor.plan.loader import Plan, load
from auditor.platforms import catalogue
from auditor.platforms.gaps import without
from auditor.platforms.render import render
from auditor.reports.writing import write_files


def expectation_files(plan: Plan) -> dict[str, bytes]:
    """Return for each device ``NAME.json`` (its expected DeviceState) and ``NAME.cfg`` (the same in its own words).

    Raises:
        PlanError: the plan has no devices.
        RenderError: a platform's template fails.
    """
    plan.require_devices()
    files = {}
    for name, expected in expected_of(plan).items():
        files[f"{name}.json"] = (json.dumps(expected.state.as_json(), indent=2, ensure_ascii=False) + "\n").encode()
        placeholders = {ssid: f"<passphrase: {variable}>" for ssid, variable in expected.passphrases.items()}
        files[f"{name}.cfg"] = render(expected.platform, _writable(expected), expected.role, placeholders).encode()
    return files


def _writable(expected: Expected) -> DeviceState:
    """Return the expected settings without what the platform has no words for, or our templates none."""
    platform = catalogue.get(expected.platform)
    state = without(platform.lacks, expected.state, expected.role)
    return without(platform.cannot, state, expected.role)


def write_expected(plan: str | Path, out: str | Path, *, group: bool = False) -> list[Path]:
    """Write each device's expected settings, normalized and native, and return the files: ``auditor expected``.

    Args:
        plan: the site's plan file.
        out: the folder of the files.
        group: whether the umask says who may read them, and not their owner alone.

    Raises:
        PlanError: the plan cannot be used, or has no devices.
        RenderError: a platform's template fails.
        ReportError: a file cannot be written.
    """
    files = expectation_files(load(plan))
    write_files(Path(out), files, group=group)
    return [Path(out) / name for name in files]
