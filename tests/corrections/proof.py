"""Proposals tried on captures: what is found before, after, and after their undo."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Any

from auditor.core.report import Finding, Report
from tests.compare.site import MIXED, PASSPHRASES, Site, case_id, changed, device_of, drift_cases, drifted
from tests.corrections.appliers import RULES, applied

PLATFORMS = tuple(sorted(file.stem for file in RULES.glob("*.yaml")))
"""Those whose commands can be tried: there are rules for them."""
WHOLE_SITES = ("quarry-road", MIXED)
"""Those that are there with many drifts at once."""
GAPS = {"community": "not-a-real-secret"}
"""What a technician puts in the place of a gap, but for passphrases; all invented."""


@dataclass(frozen=True)
class Seen:
    """What an audit tells of a site: what is found, by device and setting, and the lines that nobody could read."""

    found: dict[str, Any]
    unread: list[str]


_SEEN: dict[tuple[str, frozenset[tuple[str, bytes]]], Seen] = {}


def seen(site: Site) -> Seen:
    """Return what is found on a site, by one audit of the same captures; nothing is proposed."""
    key = (site.plan.sha256, frozenset(site.files.items()))
    if key not in _SEEN:
        report = site.audited()
        _SEEN[key] = Seen(found_in(report), unread(report))
    return _SEEN[key]


@dataclass(frozen=True)
class Drift:
    """A case: a site with one change in one device's capture.

    Attributes:
        name: what it is called.
        site: the site with the change made.
        device: whose capture was changed.
        platform: that device's.
        case: the data of the case; empty where it has none.
        file: the file that was changed.
        with_proposals: whether the audit proposes commands.
    """

    name: str
    site: Site
    device: str
    platform: str
    case: dict[str, Any] = field(default_factory=dict)
    file: str = ""
    with_proposals: bool = True

    @cached_property
    def report(self) -> Report:
        """The audit of the changed site."""
        return self.site.report(corrections=self.with_proposals)

    @cached_property
    def files(self) -> dict[str, str]:
        """The device's files, as text."""
        return {name: self.site.text(name) for name in self.site.files_of(self.device)}

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
def _cases() -> dict[str, dict[str, Any]]:
    return {case_id(case): case for case in drift_cases()}


def names() -> list[str]:
    """Return what the cases of one change are called."""
    return list(_cases())


def drift(name: str, *, with_proposals: bool = True) -> Drift:
    """Return the case of that name."""
    case = _cases()[name]
    site, file = changed(case)
    device = device_of(file)
    return Drift(name, site, device, site.plan.data.devices[device].platform, case, file, with_proposals)


def whole_site(name: str) -> list[Drift]:
    """Return the devices of a site that is there with many drifts at once, as far as commands can be tried."""
    site = drifted(name)
    devices = site.plan.data.devices.items()
    tried = [(device, entry.platform) for device, entry in devices if entry.platform in PLATFORMS]
    return [Drift(f"{name} drifted: {device}", site, device, platform) for device, platform in tried]


def found_in(report: Report) -> dict[str, Any]:
    """Return what is found, by device and setting."""
    return {f"{f.device} {f.setting}": (f.kind, f.expected, f.observed) for f in report.findings}


def unread(report: Report) -> list[str]:
    """Return the lines that nobody could read."""
    return [line.text for device in report.devices for line in device.not_understood]


def lost(drift: Drift, finding: Finding) -> list[str]:
    """Return the captured lines that a proposal and its undo leave a device without, whatever their order."""
    before, after = _undone(drift, finding)
    return sorted((before - after).elements())


def gained(drift: Drift, finding: Finding) -> list[str]:
    """Return the lines that a device has after a proposal and its undo, and had not in the capture."""
    before, after = _undone(drift, finding)
    return sorted((after - before).elements())


def _undone(drift: Drift, finding: Finding) -> tuple[Counter[str], Counter[str]]:
    assert finding.proposed is not None
    files = {name: drift.site.text(name) for name in drift.site.files_of(drift.device)}
    entered = [drift.filled(line, finding) for line in (*finding.proposed.commands, *finding.proposed.undo)]
    return _statements(applied(drift.platform, files, [])), _statements(applied(drift.platform, files, entered))


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
