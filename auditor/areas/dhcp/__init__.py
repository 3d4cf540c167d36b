"""DHCP scopes by prefix: what a server leases, and what it tells its clients."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from ipaddress import IPv4Address, IPv4Network
from typing import Any, ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Sentence, Sighting, exposure, outage, upkeep
from auditor.areas.dhcp.observed import ObservedScopes
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair, shown
from auditor.areas.planning import Planning, gateway_address
from auditor.core.addresses import address_range, merge_ranges, range_text, subtract_ranges
from auditor.core.dhcp_options import octets_in
from auditor.core.service import ServicePath
from auditor.core.state import DhcpScope, Setting
from auditor.plan.schema import Subnet

_OFFERED = {"domain": "the domain name", "lease_seconds": "the lease time", "options": "a DHCP option"}
"""What a DHCP server gives its clients whose change has no effect on users yet."""


class DhcpArea(Area):
    """The device that routes a subnet serves its pool, unless the plan has a relay there."""

    name = "dhcp"
    on_paths = ("pools",)
    tells_who_loses = True
    told_by: ClassVar[Mapping[str, str]] = {
        "pools": "dhcp_scope.ranges dhcp_scope.first dhcp_scope.start dhcp_scope.network dhcp_range.ranges "
        "dhcp_range.first",
        "gateway": "dhcp_scope.gateway dhcp_network.gateway dhcp.gateway",
        "dns": "dhcp_scope.dns dhcp_network.dns dhcp.dns",
        "domain": "dhcp_scope.domain dhcp_network.domain dhcp.domain",
        "lease_seconds": "dhcp_scope.lease dhcp_scope.lease_days dhcp_network.lease",
        "options": "dhcp_scope.options dhcp_network.options dhcp_option.code",
        "reservations": "dhcp_reservation.address dhcp_scope.host dhcp_scope.reserved",
    }
    sentences: ClassVar[Mapping[str, str]] = {
        "absent": "clients in {name} get no address from {device}",
        "unplanned": "{device} leases addresses in {prefix}, but no DHCP scope is planned there",
        "too few": "{name}: {device} leases {leased} of the {whole} planned addresses",
        "beyond": "{device} leases {extra} {addresses} beyond the plan",
        "beyond alone": "{name}: {device} leases {extra} {addresses} beyond the plan",
        "gateway": "clients in {name} are given {found} as their gateway",
        "dns": "the DNS servers given to clients in {name} differ from the plan",
        "reservations": "the reserved addresses in {name} differ from the plan",
        "offered": "{what} in {name} differs from the plan",
    }

    def planned(self, planning: Planning) -> dict[str, DhcpScope]:
        """Return the scopes of the subnets that the device routes."""
        served = [subnet for subnet in planning.routed.values() if subnet.dhcp and subnet.dhcp.pool]
        return {str(subnet.prefix): self._planned(planning, subnet) for subnet in served}

    def _planned(self, planning: Planning, subnet: Subnet) -> DhcpScope:
        plan, defaults = subnet.dhcp, planning.plan.data.defaults
        assert plan is not None
        dns = plan.dns if plan.dns is not None else defaults.dns
        domain = plan.domain if plan.domain is not None else defaults.domain
        lease = plan.lease if plan.lease is not None else defaults.lease
        for name, value in (("dns", dns), ("domain", domain), ("lease_seconds", lease)):
            if value is None:
                planning.leave_open(self.name, subnet.prefix, name)
        return DhcpScope(
            pools=tuple(range_text(first, last) for first, last in merge_ranges(plan.pool)),
            gateway=str(plan.gateway or subnet.gateway.shared or gateway_address(subnet)),
            dns=tuple(sorted(str(server) for server in dns)) if dns is not None else None,
            domain=domain,
            lease_seconds=lease,
            options={code: octets_in(value) for code, value in sorted(plan.options.items())},
            reservations={str(address): mac for address, mac in sorted(plan.reservations.items())},
        )

    def observed(self, seen: Observation) -> dict[str, DhcpScope]:
        """Return the scopes that are served."""
        topology, system = seen.topology, seen.topology.system
        own = {"dns": system.dns, "ntp": system.ntp}
        scopes = ObservedScopes(
            topology.platform,
            topology.rows,
            topology.layer3,
            topology.defaults["dhcp_scope"],
            own,
            by_interface=topology.dialect.tells_who_serves_dhcp,
            by_vrf=topology.dialect.tells_vrf_of_dhcp,
        )
        found = scopes.build(seen.evidence, system.serving_in)
        homes = {key: topology.interfaces.find(name) for key, name in scopes.interfaces().items()}
        seen.served_in = {key: topology.layer2.vlan_of(home) for key, home in homes.items() if home}
        seen.unknown += scopes.unknown()
        seen.overriding += scopes.overriding
        seen.remarks += scopes.remarks
        topology.blocked |= scopes.blocked
        return found

    def align(self, pair: Pair) -> None:
        """Planned texts are compared as they would be shown; what every server tells unasked is no option more."""
        scopes = pair.expected.state.dhcp
        pair.expect(dhcp={prefix: shown(scope, "domain", "options") for prefix, scope in scopes.items()})
        own = pair.reading.own_addresses
        found = {key: _without_own(scope, scopes.get(key), key, own) for key, scope in pair.observed.dhcp.items()}
        pair.observe(dhcp=found)

    def unplanned(self, items: Mapping[str, Any], pair: Pair) -> Mapping[str, Any]:  # noqa: ARG002
        """Nothing may be leased that the plan does not have."""
        return items

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """What clients are not given, or given wrongly."""
        device, key = seen.device, m.setting.key
        name = next((n for n, s in seen.names.plan.data.subnets.items() if str(s.prefix) == key), key)
        match m.setting.field:
            case "" if m.kind == "absent":
                return outage("absent", name=name, device=device)
            case "":
                return exposure("unplanned", device=device, prefix=key)
            case "pools":
                return Impact("outage", tuple(self._pools(m, name, device)))
            case "gateway":
                return outage("gateway", name=name, found=m.observed or "no address")
            case "dns":
                return outage("dns", name=name)
            case "reservations":
                return upkeep("reservations", name=name)
        return upkeep("offered", what=_OFFERED[m.setting.field], name=name)

    def _pools(self, m: Mismatch, name: str, device: str) -> Iterable[Sentence]:
        """Say how many addresses are leased that should be, and that should not."""
        planned, found = ([address_range(pool) for pool in pools or []] for pools in (m.expected, m.observed))
        missing, extra = _size(subtract_ranges(planned, found)), _size(subtract_ranges(found, planned))
        values = {"name": name, "device": device, "extra": extra, "addresses": "address" if extra == 1 else "addresses"}
        if missing:
            whole = _size(planned)
            yield Sentence("too few", {**values, "leased": whole - missing, "whole": whole})
        if extra:
            yield Sentence("beyond" if missing else "beyond alone", values)

    def serves(self, setting: Setting, device: str, path: ServicePath) -> bool:
        """A path's clients get their addresses from the scope of its prefix."""
        return path.gateway_device == device and setting.key == path.prefix


def _without_own(scope: DhcpScope, planned: DhcpScope | None, prefix: str, own: frozenset[str]) -> DhcpScope:
    """Return a scope without the mask of its prefix and the server's own address there (RFC 2132, 3.3 and 9.7)."""
    net = IPv4Network(prefix)
    unasked = {"1": {str(net.netmask), str(net.prefixlen)}, "54": {a for a in own if IPv4Address(a) in net}}
    kept = planned.options if planned else {}
    options = {
        code: value
        for code, value in scope.options.items()
        if str(code) in map(str, kept) or value not in unasked.get(str(code), ())
    }
    return scope if len(options) == len(scope.options) else scope.model_copy(update={"options": options})


def _size(ranges: Iterable[tuple[IPv4Address, IPv4Address]]) -> int:
    return sum(int(last) - int(first) + 1 for first, last in ranges)
