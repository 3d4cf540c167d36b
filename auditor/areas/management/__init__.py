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
        "dns": "system.dns interface.dns",
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
            if value is None or Setting(self.name, "", name) in planning.platform.lacks:
                planning.leave_open(self.name, "", name)
                continue
            values[name] = tuple(sorted(set(value))) if isinstance(value, list) else value
        return Management.model_validate(values)

    def observed(self, seen: Observation) -> Management:
        """Return what the configuration says, whatever the plan does."""
        found = ObservedManagement(seen.topology)
        item = found.build(seen.evidence)
        seen.offered.update(found.offered)
        return item

    def align(self, pair: Pair) -> None:
        """A planned login is not there if it is open only in a VRF that the device's planned address is not in."""
        if pair.expected.address is None:
            return
        there = pair.reading.offered_at(pair.expected.address)
        wanted, found = pair.expected.state.management, pair.observed.management
        logins = tuple(way for way in found.logins or () if way in there or way not in (wanted.logins or ()))
        snmp = found.snmp and ("snmp" in there or not wanted.snmp)
        if (logins, snmp) != (found.logins, found.snmp):
            pair.observe(management=found.model_copy(update={"logins": logins, "snmp": snmp}))

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
