"""What is taken out of quoted lines stands in no proposal either, however a proposal came by it."""

from __future__ import annotations

import pytest

from auditor.redact import REDACTED, redact
from tests.corrections.proof import PLATFORMS, Drift, drifts_of


def secrets(drift: Drift) -> set[str]:
    """Return what is secret in the capture of a device, and stands nowhere else in it."""
    found, readable = set(), []
    for name in drift.site.files_of(drift.device):
        lines = drift.site.text(name).split("\n")
        redacted = redact(drift.platform, lines)
        readable += redacted
        for line, shown in zip(lines, redacted, strict=True):
            before, mark, after = shown.partition(REDACTED)
            if mark and REDACTED not in after:
                found.add(line[len(before) : len(line) - len(after)].strip("\"' "))
    return {text for text in found if len(text) > 3 and not any(text in line for line in readable)}


@pytest.mark.parametrize("platform", PLATFORMS)
def test_no_secret_of_a_capture_stands_in_a_proposal(platform):
    for drift in drifts_of(platform):
        known = secrets(drift)
        for way in (finding.proposed for finding in drift.report.findings if finding.proposed):
            for line in (*way.commands, *way.undo, *way.cautions):
                assert not [text for text in known if text in line], line
