"""What ``auditor expected`` writes: a plan's expected settings as files, normalized and native."""

from __future__ import annotations

import json

from auditor.plan.expected import expected_of
from auditor.plan.loader import Plan
from auditor.platforms.render import render


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
        files[f"{name}.cfg"] = render(expected.platform, expected.state, expected.role, placeholders).encode()
    return files
