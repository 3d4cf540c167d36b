"""Proposals tried on captures: what is found before, after, and after their undo."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from auditor.core.report import Finding, Report
from tests.compare.site import DRIFTS, MIXED, PASSPHRASES, Site, case_id, cases, changed, device_of, drifted
from tests.corrections.appliers import RULES, applied

CASES = cases(*sorted(DRIFTS.glob("drift-*.yaml")), *sorted(DRIFTS.glob("*/drift.yaml")))
PLATFORMS = tuple(sorted(file.stem for file in RULES.glob("*.yaml")))
"""Those whose commands can be tried: there are rules for them."""
DEMO = "quarry-road"
GAPS = {"community": "not-a-real-secret"}
"""What a technician puts in the place of a gap, but for passphrases; all invented."""


@dataclass(frozen=True)
class Drift:
    """A case: a site with one change in one device's capture."""

    name: str
    site: Site
    device: str
    platform: str

    @property
    def report(self) -> Report:
        """The audit of the changed site."""
        return _report(self.name)

    @property
    def findings(self) -> list[Finding]:
        """What is found on the device."""
        return [finding for finding in self.report.findings if finding.device == self.device]

    def with_commands(self, finding: Finding, site: Site, commands: Iterable[str]) -> Site:
        """Return a site after its device was given commands, the gaps in them filled."""
        files = {name: site.text(name) for name in site.files_of(self.device)}
        filled = [self.filled(line, finding) for line in commands]
        for name, text in applied(self.platform, files, filled).items():
            site = site.having(name, text)
        return site

    def filled(self, line: str, finding: Finding) -> str:
        """Return a command as a technician enters it who knows what belongs in a gap."""

        def value(match: re.Match[str]) -> str:
            wifi = site.plan.data.wifi.get(finding.setting.partition(".")[2].rpartition(".")[0])
            if match[1] == "passphrase" and wifi and wifi.passphrase:
                return PASSPHRASES[wifi.passphrase.env]
            return GAPS.get(match[1], "made up for this test")

        site = self.site
        return re.sub(r"<([a-z][a-z ]*)>", value, line)


@cache
def drifts() -> dict[str, Drift]:
    """Return all cases by their name."""
    return {**_one_change_each(), **whole_sites()}


@cache
def _one_change_each() -> dict[str, Drift]:
    found = {}
    for case in CASES:
        site, file = changed(case)
        device = device_of(file)
        found[case_id(case)] = Drift(case_id(case), site, device, site.plan.data.devices[device].platform)
    return found


@cache
def _report(name: str) -> Report:
    return drifts()[name].site.report()


def drifts_of(platform: str) -> list[Drift]:
    """Return the cases of a platform."""
    return [drift for drift in _one_change_each().values() if drift.platform == platform]


@cache
def whole_sites() -> dict[str, Drift]:
    """Return the devices of the sites that are there with many drifts at once, as far as commands can be tried."""
    found = {}
    for name in (DEMO, MIXED):
        site = drifted(name)
        for device, entry in site.plan.data.devices.items():
            if entry.platform in PLATFORMS:
                found[f"{name} drifted: {device}"] = Drift(f"{name} drifted: {device}", site, device, entry.platform)
    return found


def found_in(report: Report) -> dict[str, Any]:
    """Return what is found, by device and setting."""
    return {f"{f.device} {f.setting}": (f.kind, f.expected, f.observed) for f in report.findings}


def unread(report: Report) -> list[str]:
    """Return the lines that nobody could read."""
    return [line.text for device in report.devices for line in device.not_understood]


def lost(drift: Drift, finding: Finding) -> list[str]:
    """Return the captured lines that a proposal and its undo leave a device without, whatever their order."""
    assert finding.proposed is not None
    files = {name: drift.site.text(name) for name in drift.site.files_of(drift.device)}
    entered = [drift.filled(line, finding) for line in (*finding.proposed.commands, *finding.proposed.undo)]
    return sorted(
        (
            _statements(applied(drift.platform, files, [])) - _statements(applied(drift.platform, files, entered))
        ).elements()
    )


def _statements(files: dict[str, str]) -> Counter[str]:
    """Return the lines of files; those below a path (``/interface bridge``) with it, and their words in any order."""
    found: Counter[str] = Counter()
    for text in files.values():
        path: list[str] = []
        for line in re.sub(r"\\\n\s*", "", text).split("\n"):
            words = re.sub(r"[\[\]]", " ", line).split()
            if line.startswith("/") and not {"add", "set", "remove"} & set(words):
                path = words
            elif words:
                found[" ".join(sorted([*words, *path] if words[0] in ("add", "set") else words))] += 1
    return found
