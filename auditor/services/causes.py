"""Which findings have one cause: one slip on many ports, both ends of a link, a VLAN that is missing altogether."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

from auditor.model.report import Finding
from auditor.model.service import LinkReport
from auditor.model.values import VlanSet


def with_causes(findings: Sequence[Finding], links: Sequence[LinkReport]) -> list[Finding]:
    """Return findings that know their cause: the id of the first of those that go together."""
    gone = {(f.device, f.setting) for f in findings if f.area == "vlans" and f.kind == "absent"}
    ends = {end: number for number, link in enumerate(links) for end in link.ends}
    leaders: dict[Hashable, str] = {}
    for finding in sorted(findings, key=lambda f: f.area != "vlans"):
        leaders.setdefault(_cause(finding, gone, ends), finding.id)
    return [f.model_copy(update={"cause": leaders[_cause(f, gone, ends)]}) for f in findings]


def _cause(finding: Finding, gone: set[tuple[str, str]], ends: dict[tuple[str, str], int]) -> Hashable:
    """Return what tells the cause of a finding from others."""
    device = finding.device
    place = finding.setting.split(".", 1)[1] if "." in finding.setting else ""
    port, _, name = place.rpartition(".")
    if finding.area in ("vlans", "gateways") and (device, f"vlans.{place}") in gone:
        return ("vlan", device, place)
    if finding.area == "ports" and name in ("tagged_vlans", "untagged_vlan"):
        missing, extra = _change(finding)
        if len(missing) == 1 and not extra and (device, f"vlans.{min(missing)}") in gone:
            return ("vlan", device, str(min(missing)))
        if (device, port) in ends:
            return ("link", ends[device, port], name, missing, extra)
    if finding.area == "ports":
        return ("ports", device, name, finding.kind, str(finding.expected), str(finding.observed))
    return finding.id


def _change(finding: Finding) -> tuple[frozenset[int], frozenset[int]]:
    """Return the VLANs that a port lacks, and those that it has too much."""
    expected, observed = (VlanSet.parse(str(value or "")) for value in (finding.expected, finding.observed))
    return frozenset(expected - observed), frozenset(observed - expected)
