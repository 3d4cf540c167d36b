"""How a device is run: the servers that it uses, whether SNMP answers, which logins it offers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Sighting, exposure, upkeep
from auditor.areas.management.observed import ObservedManagement
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning
from auditor.core.state import Management, Setting, fields_of
from auditor.plan.schema import ManagementPlan


class ManagementArea(Area):
    """One item of every device, of which a plan says as much as it likes."""

    name = "management"
    told_by: ClassVar[Mapping[str, str]] = {
        "ntp": "system.ntp",
        "dns": "system.dns interface.dns dhcp_network.upstream",
        "syslog": "system.syslog",
        "snmp": "system.snmp",
        "logins": "interface.lets_in system.logins system.login_ssh system.login_telnet system.login_http "
        "system.login_https",
    }
    sentences: ClassVar[Mapping[str, str]] = {
        "logins open": "{device} allows login over {ways}",
        "logins closed": "{device} does not allow all planned ways to log in",
        "snmp open": "{device} answers SNMP, but should not",
        "snmp closed": "{device} does not answer SNMP",
        "ntp": "{device} does not use the planned time servers",
        "syslog": "{device} does not send its log messages to the planned servers",
        "dns": "{device} does not use the planned DNS servers",
    }

    def planned(self, planning: Planning) -> Management:
        """Return what the device's own entry says, or else the plan's for all devices."""
        own = planning.device.management or ManagementPlan()
        common = planning.plan.data.management or ManagementPlan()
        values: dict[str, object] = {}
        for name in fields_of(self.name):
            value = getattr(own, name)
            if value is None:
                value = getattr(common, name)
            if value is None:
                planning.leave_open(self.name, "", name)
                continue
            values[name] = tuple(sorted(set(value))) if isinstance(value, list) else value
        return Management.model_validate(values)

    def observed(self, seen: Observation) -> Management:
        """Return what the configuration says, whatever the plan does."""
        found = ObservedManagement(seen.topology)
        item = found.build(seen.evidence)
        seen.offered.update(found.offered)
        seen.overriding += found.overriding
        return item

    def align(self, pair: Pair) -> None:
        """A planned login is not there if it is open only in a VRF that the device's planned address is not in."""
        self._without_other_version(pair)
        if pair.expected.address is None:
            return
        there = pair.reading.offered_at(pair.expected.address)
        wanted, found = pair.expected.state.management, pair.observed.management
        logins = tuple(way for way in found.logins or () if way in there or way not in (wanted.logins or ()))
        snmp = found.snmp and ("snmp" in there or not wanted.snmp)
        if (logins, snmp) != (found.logins, found.snmp):
            if pair.reading.zoned or pair.reading.answers_at_some:
                pair.reading.blocked.update(Setting(self.name, "", name) for name in ("logins", "snmp"))
            pair.observe(management=found.model_copy(update={"logins": logins, "snmp": snmp}))

    def _without_other_version(self, pair: Pair) -> None:
        """Servers by IPv6 address do not count where the plan names none; IPv6 is not audited."""
        wanted, found = pair.expected.state.management, pair.observed.management
        kept: dict[str, tuple[str, ...]] = {}
        for name in ("ntp", "dns", "syslog"):
            servers, planned = getattr(found, name) or (), getattr(wanted, name) or ()
            if servers and not any(":" in server for server in planned):
                kept[name] = tuple(server for server in servers if ":" not in server)
        pair.observe(management=found.model_copy(update=kept))

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """What is open and should not be is exposure; what is missing, users do not notice."""
        device = seen.device
        match m.setting.field:
            case "logins":
                extra = sorted(set(m.observed or []) - set(m.expected or []))
                if extra:
                    return exposure("logins open", device=device, ways=", ".join(extra))
                return upkeep("logins closed", device=device)
            case "snmp":
                return exposure("snmp open", device=device) if m.observed else upkeep("snmp closed", device=device)
        return upkeep(m.setting.field, device=device)
