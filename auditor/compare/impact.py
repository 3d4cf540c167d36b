"""What a finding means for the people it concerns: its consequence, and the effect in a sentence.

A first answer from the setting alone; service paths refine it (services/effects.py).
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
_TOLD = {"domain": "another domain", "lease_seconds": "another lease time", "options": "other options"}
"""What a DHCP server tells its clients that nobody notices at once."""


class Impacts:
    """Tells for one device what its mismatches mean."""

    def __init__(self, plan: Plan, device: str, ineffective: frozenset[Setting] = frozenset()) -> None:
        self._plan = plan
        self._ineffective = ineffective
        self.device = device

    def of(self, mismatch: Mismatch) -> Impact:
        """Return consequence and effect of a mismatch."""
        tell: Callable[[Mismatch], Impact] = getattr(self, f"_{mismatch.setting.area}")
        return tell(mismatch)

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
        return "upkeep", f"the capture calls itself {m.observed}: make sure that it is {self.device}'s"

    def _vlans(self, m: Mismatch) -> Impact:
        net = self._net(int(m.setting.key))
        if m.setting.field:
            return "upkeep", f"{net} is called {m.observed or 'nothing'} on {self.device}"
        if m.kind == "absent":
            return "outage", f"{net} does not exist on {self.device}: what is in it there has no connection"
        return "upkeep", f"{net} exists on {self.device} and is in no plan for it"

    def _ports(self, m: Mismatch) -> Impact:
        port = f"{self.device} {m.setting.key}"
        if not m.setting.field:
            return "outage", f"{port} is not in the capture: nothing there tells what it is set to"
        tell: Callable[[str, Mismatch], Impact] = getattr(self, f"_port_{m.setting.field}")
        return tell(port, m)

    def _port_enabled(self, port: str, m: Mismatch) -> Impact:
        if m.expected and m.setting.item in self._ineffective:
            return (
                "outage",
                f"{port} is a bundle without ports, or one that the device does not make: nothing passes it",
            )
        if m.expected:
            return "outage", f"{port} is switched off: whatever is plugged in there has no connection"
        return "exposure", f"{port} is switched on though nobody should use it: whoever plugs in is in the network"

    def _port_mode(self, port: str, m: Mismatch) -> Impact:
        match m.observed:
            case "dynamic":
                return "exposure", f"{port} lets whatever is plugged in turn it into a trunk of many VLANs"
            case "trunk":
                return "exposure", f"{port} is a trunk: whoever plugs in there reaches several VLANs"
            case "routed":
                return "outage", f"{port} is in no VLAN: whatever is plugged in there has no connection"
        return "outage", f"{port} is an access port of one VLAN: what should pass it tagged does not"

    def _port_untagged(self, port: str, m: Mismatch) -> Impact:
        if m.observed is None:
            return "outage", f"{self._net(m.expected)} does not pass {port} untagged"
        if m.expected is None:
            return "exposure", f"{self._net(m.observed)} passes {port} untagged though nothing should"
        planned = self._plan.ports.get(self.device, {}).get(m.setting.key)
        what = "what is plugged in" if planned is None or planned.access else "what is untagged"
        return "exposure", f"{what} at {port} is in {self._net(m.observed)} instead of {self._net(m.expected)}"

    def _port_tagged(self, port: str, m: Mismatch) -> Impact:
        expected, observed = VlanSet.parse(m.expected or ""), VlanSet.parse(m.observed or "")
        missing, extra = VlanSet(expected - observed), VlanSet(observed - expected)
        several, more = len(missing) > 1, len(extra) > 1
        stops = f"{self._nets(missing)} {'do' if several else 'does'} not pass {port} tagged" if missing else ""
        leaks = (
            f"{self._nets(extra)} {'pass' if more else 'passes'} {port} tagged, which should not be" if extra else ""
        )
        return "exposure" if extra else "outage", "; ".join(part for part in (leaks, stops) if part)

    def _port_voice(self, port: str, m: Mismatch) -> Impact:
        if m.kind == "unplanned":
            return "upkeep", f"{port} offers {self._net(m.observed)} to telephones though none is planned there"
        return "outage", f"telephones at {port} are not in {self._net(m.expected)}"

    def _port_description(self, port: str, m: Mismatch) -> Impact:
        return "upkeep", f"{port} is described as {m.observed!r}" if m.observed else f"{port} has no description"

    def _gateways(self, m: Mismatch) -> Impact:
        net = self._net(int(m.setting.key))
        subnet = self._plan.subnet_of(int(m.setting.key))
        routes = subnet is not None and self._plan.gateway_of(subnet[1]) == self.device
        if m.kind == "unplanned" and not m.setting.field:
            return "exposure", f"{self.device} has an address in {net} though the plan routes it elsewhere or nowhere"
        if m.setting.field == "relay_to":
            if m.kind == "unplanned":
                return "upkeep", f"{self.device} relays DHCP requests of {net} though none should be relayed"
            return "outage", f"terminals in {net} get no address: their requests are not relayed as planned"
        if m.kind == "unplanned" or (m.setting.field and set(m.expected or ()) < set(m.observed or ())):
            return "upkeep", f"{self.device} has further addresses in {net}"
        if routes:
            return "outage", f"terminals in {net} do not find their gateway at {self.device}"
        return (
            "outage",
            f"{self.device} does not have its planned address in {net}: nobody reaches it there to manage it",
        )

    def _dhcp(self, m: Mismatch) -> Impact:
        name = next((n for n, s in self._plan.data.subnets.items() if str(s.prefix) == m.setting.key), m.setting.key)
        if not m.setting.field:
            if m.kind == "absent":
                return "outage", f"terminals in {name} get no address from {self.device}"
            return "exposure", f"{self.device} hands out addresses in {m.setting.key} though no scope is planned there"
        match m.setting.field:
            case "pools":
                return "outage", f"{name}: {self._pools(m)}"
            case "gateway":
                return "outage", f"terminals in {name} are sent to {m.observed or 'no gateway'}"
            case "dns":
                return "outage", f"terminals in {name} ask other DNS servers than planned"
            case "reservations":
                return "upkeep", f"fixed addresses in {name} are not those of the plan"
        return "upkeep", f"terminals in {name} are told {_TOLD[m.setting.field]} than planned"

    def _pools(self, m: Mismatch) -> str:
        """Say how many addresses are given out that should be, and that should not."""
        planned, found = ([address_range(pool) for pool in pools or []] for pools in (m.expected, m.observed))
        missing, extra = _size(subtract_ranges(planned, found)), _size(subtract_ranges(found, planned))
        parts = []
        if missing:
            whole = _size(planned)
            parts.append(f"{self.device} gives out {whole - missing} of the {whole} planned addresses")
        if extra:
            parts.append(f"{self.device} gives out {extra} {'address' if extra == 1 else 'addresses'} beyond the plan")
        return "; ".join(parts)

    def _ssids(self, m: Mismatch) -> Impact:
        name = f"{m.setting.key!r} on {self.device}"
        if not m.setting.field:
            if m.kind == "absent":
                return "outage", f"Wi-Fi {name} is not there: nobody can join it"
            return "exposure", f"Wi-Fi {name} is on air and in no plan"
        match m.setting.field:
            case "vlan":
                if m.observed is None:
                    return "outage", f"whoever joins Wi-Fi {name} is in no VLAN"
                return (
                    "exposure",
                    f"whoever joins Wi-Fi {name} is in {self._several(m.observed)} instead of {self._net(m.expected)}",
                )
            case "security":
                found = " or, by radio, ".join(m.observed) if isinstance(m.observed, list) else m.observed
                if self._weaker(m.observed, m.expected):
                    return "exposure", f"Wi-Fi {name} is protected by {found} only, not {m.expected}"
                return "outage", f"Wi-Fi {name} asks for {found}: terminals set up for {m.expected} may not join"
            case "client_isolation" if m.expected:
                return "exposure", f"stations on Wi-Fi {name} reach each other"
            case "enabled":
                return "outage", f"Wi-Fi {name} is switched off{' on some radios' if m.observed else ''}"
            case "passphrase_matches":
                return "outage", f"Wi-Fi {name} has another passphrase than planned: terminals cannot join"
            case "bands":
                return "upkeep", f"Wi-Fi {name} is on other bands than planned"
        return "upkeep", f"Wi-Fi {name} has another setting than planned: {m.setting.field.replace('_', ' ')}"

    def _several(self, vids: Any) -> str:
        return " or, by radio, ".join(self._net(vid) for vid in vids) if isinstance(vids, list) else self._net(vids)

    def _weaker(self, observed: Any, expected: Any) -> bool:
        """Return whether some observed protection is weaker than planned; an unknown one counts as weaker."""
        order = {name: position for position, name in enumerate(SECURITIES)}
        found = observed if isinstance(observed, list) else [observed]
        return any(order.get(name, -1) < order[expected] for name in found)

    def _uplinks(self, m: Mismatch) -> Impact:
        return "outage", f"{self.device} {m.setting.key} does not get its address from the carrier as planned"

    def _management(self, m: Mismatch) -> Impact:
        match m.setting.field:
            case "logins":
                extra = sorted(set(m.observed or []) - set(m.expected or []))
                if extra:
                    return "exposure", f"{self.device} lets people log in by {', '.join(extra)}"
                return "upkeep", f"{self.device} does not offer the planned ways to log in"
            case "snmp":
                if m.observed:
                    return "exposure", f"{self.device} answers SNMP though it should not"
                return "upkeep", f"{self.device} does not answer SNMP"
            case "ntp":
                return "upkeep", f"{self.device} takes its time elsewhere than planned, or nowhere"
            case "syslog":
                return "upkeep", f"{self.device} does not send its log messages as planned"
        return "upkeep", f"{self.device} asks other DNS servers than planned"


def _size(ranges: Iterable[tuple[IPv4Address, IPv4Address]]) -> int:
    return sum(int(last) - int(first) + 1 for first, last in ranges)
