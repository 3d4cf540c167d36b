"""Which findings have one cause: one slip on many ports, both ends of a link, a VLAN that is missing altogether."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

from auditor.core.domains import Domain, parse_domains
from auditor.core.report import Finding
from auditor.core.service import LinkReport
from auditor.core.state import Setting


def with_causes(findings: Sequence[Finding], links: Sequence[LinkReport]) -> list[Finding]:
    """Return findings that know their cause: the id of the first of those that go together."""
    told = _Causes(findings, links)
    leaders: dict[Hashable, str] = {}
    for finding in sorted(findings, key=lambda f: f.area != "vlans"):
        leaders.setdefault(told.of(finding), finding.id)
    return [finding.model_copy(update={"cause": leaders[told.of(finding)]}) for finding in findings]


class _Causes:
    """Tells what the cause of a finding has that no other cause has."""

    def __init__(self, findings: Sequence[Finding], links: Sequence[LinkReport]) -> None:
        self.gone = {(f.device, f.place) for f in findings if f.area == "vlans" and f.kind == "absent"}
        self.ends = {end: number for number, link in enumerate(links) for end in link.ends}
        self.on_port: dict[tuple[str, str], list[Finding]] = {}
        for finding in findings:
            if finding.area == "ports":
                self.on_port.setdefault((finding.device, finding.key), []).append(finding)

    def of(self, finding: Finding) -> Hashable:
        """Return it; findings for which it is equal go together."""
        device = finding.device
        if finding.area in ("vlans", "gateways"):
            vid = finding.key
            return (
                ("vlan", device, vid)
                if not finding.field and (device, Setting("vlans", vid)) in self.gone
                else finding.id
            )
        if finding.area != "ports":
            return finding.id
        port = (device, finding.key)
        alone = len(self.on_port[port]) == 1
        if alone and finding.field in ("tagged", "untagged"):
            missing, extra = _change(finding)
            if len(missing) == 1 and not extra and (device, Setting("vlans", str(*missing))) in self.gone:
                return ("vlan", device, str(*missing))
            if port in self.ends:
                return ("link", self.ends[port], missing, extra)
        told = tuple((f.field, str(f.expected), str(f.observed)) for f in self.on_port[port])
        return ("ports", device, told)


def _change(finding: Finding) -> tuple[frozenset[Domain], frozenset[Domain]]:
    """Return the VLANs that a port lacks, and those that it has too much."""
    expected, observed = (parse_domains(str(value or "")) for value in (finding.expected, finding.observed))
    return expected - observed, observed - expected
