"""What a finding means for the people it concerns: its consequence, and the effect in a sentence.

A first answer from the setting alone; service paths refine it (network/effects.py).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from ipaddress import IPv4Address
from typing import Any

from auditor.compare.judge import Mismatch
from auditor.core.report import Consequence
from auditor.core.state import Setting
from auditor.core.values import VlanSet, address_range, subtract_ranges
from auditor.plan.loader import Plan
from auditor.plan.schema import SECURITIES

Impact = tuple[Consequence, str]
_OFFERED = {"domain": "the domain name", "lease_seconds": "the lease time", "options": "a DHCP option"}
"""What a DHCP server gives its clients whose change has no effect on users yet."""


class Impacts:
    """Tells for one device what its mismatches mean."""

    def __init__(self, plan: Plan, device: str, ineffective: frozenset[Setting] = frozenset()) -> None:
        self._plan = plan
        self._ineffective = ineffective
        self.device = device

    def of(self, mismatch: Mismatch) -> Impact:
        """Return consequence and effect of a mismatch."""
        describe: Callable[[Mismatch], Impact] = getattr(self, f"_{mismatch.setting.area}")
        return describe(mismatch)

    def _net(self, vid: Any) -> str:
        """Name a VLAN as people know it: the subnet's name and its id."""
        if vid is None:
            return "no VLAN"
        found = self._plan.subnet_of(vid) if isinstance(vid, int) else None
        return f"{found[0]} (VLAN {vid})" if found else f"VLAN {vid}"

    def _nets(self, vids: VlanSet) -> str:
        known = [self._net(vid) for vid in sorted(vids) if self._plan.subnet_of(vid)]
        others = VlanSet(vid for vid in vids if not self._plan.subnet_of(vid))
        return ", ".join([*known, *([f"VLAN {others}"] if others else [])])

    def _isolated(self, vid: Any) -> bool:
        found = self._plan.subnet_of(vid) if isinstance(vid, int) else None
        return bool(found and found[1].isolated)

    def _hostname(self, m: Mismatch) -> Impact:
        return "upkeep", f"the hostname in the capture is {m.observed}: check that it is a capture of {self.device}"

    def _vlans(self, m: Mismatch) -> Impact:
        net = self._net(int(m.setting.key))
        if m.setting.field:
            return "upkeep", f"the name of {net} on {self.device} is {m.observed or 'not set'}"
        if m.kind == "absent":
            return "outage", f"{net} does not exist on {self.device}: devices in it have no connection there"
        return "upkeep", f"{net} exists on {self.device} but is not planned there"

    def _ports(self, m: Mismatch) -> Impact:
        port = f"{self.device} {m.setting.key}"
        if not m.setting.field:
            return "outage", f"{port} is not in the capture: its settings are unknown"
        describe: Callable[[str, Mismatch], Impact] = getattr(self, f"_port_{m.setting.field}")
        return describe(port, m)

    def _port_enabled(self, port: str, m: Mismatch) -> Impact:
        if m.expected and m.setting.item in self._ineffective:
            return (
                "outage",
                f"{port} is a bundle that has no member ports or is not active on the device: it carries no traffic",
            )
        if m.expected:
            return "outage", f"{port} is switched off: devices connected to it have no connection"
        return (
            "exposure",
            f"{port} is switched on although it should be unused: any device connected to it is in the network",
        )

    def _port_mode(self, port: str, m: Mismatch) -> Impact:
        match m.observed:
            case "dynamic":
                return (
                    "exposure",
                    f"{port} negotiates trunking: a connected device can turn it into a trunk of many VLANs",
                )
            case "trunk":
                return "exposure", f"{port} is a trunk: a device connected to it reaches several VLANs"
            case "routed":
                return "outage", f"{port} is a routed port in no VLAN: devices connected to it have no connection"
        return "outage", f"{port} is an access port of one VLAN: the tagged VLANs do not pass it"

    def _port_untagged(self, port: str, m: Mismatch) -> Impact:
        if m.observed is None:
            return "outage", f"{self._net(m.expected)} does not pass {port} untagged"
        if m.expected is None:
            return "exposure", f"{self._net(m.observed)} passes {port} untagged, but no VLAN should"
        planned = self._plan.ports.get(self.device, {}).get(m.setting.key)
        what = "devices" if planned is None or planned.access else "untagged frames"
        return "exposure", f"{port} puts {what} into {self._net(m.observed)} instead of {self._net(m.expected)}"

    def _port_tagged(self, port: str, m: Mismatch) -> Impact:
        expected, observed = VlanSet.parse(m.expected or ""), VlanSet.parse(m.observed or "")
        missing, extra = VlanSet(expected - observed), VlanSet(observed - expected)
        several, more = len(missing) > 1, len(extra) > 1
        stops = f"{self._nets(missing)} {'do' if several else 'does'} not pass {port} tagged" if missing else ""
        leaks = f"{self._nets(extra)} {'pass' if more else 'passes'} {port} tagged, but should not" if extra else ""
        return "exposure" if extra else "outage", "; ".join(part for part in (leaks, stops) if part)

    def _port_voice(self, port: str, m: Mismatch) -> Impact:
        if m.kind == "unplanned":
            return "upkeep", f"{port} offers {self._net(m.observed)} as voice VLAN, but none is planned there"
        return "outage", f"phones at {port} are not in {self._net(m.expected)}"

    def _port_description(self, port: str, m: Mismatch) -> Impact:
        return "upkeep", f"the description of {port} is {m.observed!r}" if m.observed else f"{port} has no description"

    def _gateways(self, m: Mismatch) -> Impact:
        net = self._net(int(m.setting.key))
        subnet = self._plan.subnet_of(int(m.setting.key))
        routes = subnet is not None and self._plan.gateway_of(subnet[1]) == self.device
        if m.kind == "unplanned" and not m.setting.field:
            return "exposure", f"{self.device} answers at an address in {net}; the plan has no such address"
        if m.setting.field == "relay_to":
            if m.kind == "unplanned":
                return "upkeep", f"{self.device} relays DHCP requests from {net}, but no relay is planned"
            return "outage", f"clients in {net} get no address: their DHCP requests are not relayed as planned"
        if m.kind == "unplanned" or (m.setting.field and set(m.expected or ()) < set(m.observed or ())):
            return "upkeep", f"{self.device} has more addresses in {net} than planned"
        if routes:
            return "outage", f"clients in {net} do not reach their gateway on {self.device}"
        return (
            "outage",
            f"{self.device} does not have its planned address in {net}: it cannot be managed there",
        )

    def _dhcp(self, m: Mismatch) -> Impact:
        name = next((n for n, s in self._plan.data.subnets.items() if str(s.prefix) == m.setting.key), m.setting.key)
        if not m.setting.field:
            if m.kind == "absent":
                return "outage", f"clients in {name} get no address from {self.device}"
            return "exposure", f"{self.device} leases addresses in {m.setting.key}, but no DHCP scope is planned there"
        match m.setting.field:
            case "pools":
                return "outage", f"{name}: {self._pools(m)}"
            case "gateway":
                return "outage", f"clients in {name} are given {m.observed or 'no address'} as their gateway"
            case "dns":
                return "outage", f"the DNS servers given to clients in {name} differ from the plan"
            case "reservations":
                return "upkeep", f"the reserved addresses in {name} differ from the plan"
        return "upkeep", f"{_OFFERED[m.setting.field]} in {name} differs from the plan"

    def _pools(self, m: Mismatch) -> str:
        """Say how many addresses are leased that should be, and that should not."""
        planned, found = ([address_range(pool) for pool in pools or []] for pools in (m.expected, m.observed))
        missing, extra = _size(subtract_ranges(planned, found)), _size(subtract_ranges(found, planned))
        parts = []
        if missing:
            whole = _size(planned)
            parts.append(f"{self.device} leases {whole - missing} of the {whole} planned addresses")
        if extra:
            parts.append(f"{self.device} leases {extra} {'address' if extra == 1 else 'addresses'} beyond the plan")
        return "; ".join(parts)

    def _ssids(self, m: Mismatch) -> Impact:
        name = f"{m.setting.key!r} on {self.device}"
        if not m.setting.field:
            if m.kind == "absent":
                return "outage", f"Wi-Fi {name} is missing: clients cannot join it"
            return "exposure", f"Wi-Fi {name} is broadcast but not in the plan"
        match m.setting.field:
            case "vlan":
                if m.observed is None:
                    return "outage", f"clients of Wi-Fi {name} are placed in no VLAN"
                return (
                    "exposure",
                    f"clients of Wi-Fi {name} are placed in {self._several(m.observed)}, not {self._net(m.expected)}",
                )
            case "security":
                found = " or, depending on the radio, ".join(m.observed) if isinstance(m.observed, list) else m.observed
                if self._weaker(m.observed, m.expected):
                    return (
                        "exposure",
                        f"Wi-Fi {name} is protected by {found}, which is weaker than the planned {m.expected}",
                    )
                return "outage", f"Wi-Fi {name} requires {found}: clients set up for {m.expected} may fail to join"
            case "client_isolation" if m.expected:
                return "exposure", f"clients of Wi-Fi {name} can reach each other"
            case "enabled":
                return "outage", f"Wi-Fi {name} is switched off{' on some radios' if m.observed else ''}"
            case "passphrase_matches":
                return "outage", f"the passphrase of Wi-Fi {name} differs from the plan: clients cannot join"
            case "bands":
                return "upkeep", f"the bands of Wi-Fi {name} differ from the plan"
        return "upkeep", f"the setting {m.setting.field.replace('_', ' ')} of Wi-Fi {name} differs from the plan"

    def _several(self, vids: Any) -> str:
        return (
            " or, depending on the radio, ".join(self._net(vid) for vid in vids)
            if isinstance(vids, list)
            else self._net(vids)
        )

    def _weaker(self, observed: Any, expected: Any) -> bool:
        """Return whether some observed protection is weaker than planned; an unknown one counts as weaker."""
        order = {name: position for position, name in enumerate(SECURITIES)}
        found = observed if isinstance(observed, list) else [observed]
        return any(order.get(name, -1) < order[expected] for name in found)

    def _uplinks(self, m: Mismatch) -> Impact:
        return "outage", f"the uplink {self.device} {m.setting.key} does not get its address as planned"

    def _management(self, m: Mismatch) -> Impact:
        match m.setting.field:
            case "logins":
                extra = sorted(set(m.observed or []) - set(m.expected or []))
                if extra:
                    return "exposure", f"{self.device} allows login over {', '.join(extra)}"
                return "upkeep", f"{self.device} does not allow all planned ways to log in"
            case "snmp":
                if m.observed:
                    return "exposure", f"{self.device} answers SNMP, but should not"
                return "upkeep", f"{self.device} does not answer SNMP"
            case "ntp":
                return "upkeep", f"{self.device} does not use the planned time servers"
            case "syslog":
                return "upkeep", f"{self.device} does not send its log messages to the planned servers"
        return "upkeep", f"{self.device} does not use the planned DNS servers"


def _size(ranges: Iterable[tuple[IPv4Address, IPv4Address]]) -> int:
    return sum(int(last) - int(first) + 1 for first, last in ranges)
