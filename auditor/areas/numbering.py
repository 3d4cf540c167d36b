"""Which VLANs of the plan the bridges without a number stand for, so that they can be compared with it.

A bridge is told by what the plan says of what is in it: first by its tagged members, then by its addresses, its DHCP
scopes, its Wi-Fi names and most of its ports. Where these name several subnets, what comes later decides between them.
A VLAN that the device has elsewhere is not the bridge's. One that stays without a number is compared under its name.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from auditor.areas.expected import Expected
from auditor.areas.reading import Reading
from auditor.core.addresses import address_range, interface_address, network
from auditor.core.domains import Domain, unnumbered
from auditor.core.observed import Observed
from auditor.core.state import DeviceState, Port, Ssid, Vlan


@dataclass(frozen=True, slots=True)
class _Claim:
    """The number that a bridge stands for, and how well that is told: the lower, the better."""

    vid: int
    rank: tuple[int, int, int]


def numbered(reading: Reading, expected: Expected) -> Reading:
    """Return a reading in which bridges without a number have those of the planned subnets that they stand for."""
    bridges = unnumbered(reading.state.vlans)
    if not bridges:
        return reading
    found = _Numbering(reading, expected).of(bridges)
    if not found:
        return reading
    settings = _with_numbers(reading.state, found)
    observed = Observed(settings, reading.observed.filters, reading.observed.facts)
    return replace(reading, observed=observed, numbered=found, _open=None)


class _Numbering:
    def __init__(self, reading: Reading, expected: Expected) -> None:
        self.state = reading.state
        self.expected = expected
        self.subnets = frozenset(expected.prefixes.values())
        self.tags_into = reading.tags_into
        self.leads = reading.leads
        self.scopes: dict[Domain, list[str]] = {}
        for prefix, home in reading.served_in.items():
            if home is not None and prefix in self.state.dhcp:
                self.scopes.setdefault(home, []).append(prefix)
        planned = expected.state.ports
        self.born = {now: born for born, now in reading.born_as.items() if born in planned and now not in planned}

    def of(self, bridges: Iterable[str]) -> dict[str, int]:
        """Return the numbers. Of several bridges that stand for one subnet one has it, and others are told by the rest.

        It is the one in which less of other subnets is, then the one that is told by what is stronger.
        """
        found: dict[str, int] = {}
        left = list(bridges)
        while claims := {bridge: claim for bridge in left if (claim := self.claim(bridge, found.values()))}:
            first = min(claims, key=lambda bridge: (claims[bridge].rank, bridge))
            found[first] = claims[first].vid
            left = [bridge for bridge in claims if bridge != first]
        return found

    def claim(self, bridge: str, taken: Collection[int]) -> _Claim | None:
        """Return the subnet that a bridge stands for; ``None`` where nothing tells it, or several things alike."""
        free = frozenset(vid for vid in self.subnets if vid not in taken and not self.elsewhere(vid, bridge))
        told = [self.subnets & frozenset(tell(self, bridge)) for tell in _STRONGEST]
        ports = Counter(vid for vid in self.ports(bridge) if vid in self.subnets)
        left, by = free, len(told)
        for number, named in enumerate(told):
            if named & left:
                left, by = named & left, min(by, number)
            if by < len(told) and len(left) == 1:
                break
        if len(left) > 1 or by == len(told):
            counted = [ports[vid] for vid in left]
            left = frozenset(vid for vid in left if ports[vid] == max(counted) > 0)
        if len(left) != 1:
            return None
        (vid,) = left
        others = frozenset(ports).union(*told) - left
        return _Claim(vid, (len(others), by, -ports[vid]))

    def tags(self, bridge: str) -> Iterable[int]:
        """Return the tags that lead into it."""
        return self.tags_into.get(bridge, ())

    def addresses(self, bridge: str) -> Iterator[int]:
        """Yield the VLANs of the prefixes that its addresses are in."""
        gateway = self.state.gateways.get(bridge)
        for text in (*gateway.addresses, *gateway.shared_addresses) if gateway else ():
            if text[:1].isdecimal():
                host = interface_address(text).ip
                yield from (vid for prefix, vid in self.expected.prefixes.items() if host in prefix)

    def leases(self, bridge: str) -> Iterator[int]:
        """Yield the VLANs of the prefixes that addresses are leased from in it."""
        for scope in self.scopes.get(bridge, ()):
            first = [address_range(pool)[0] for pool in self.state.dhcp[scope].pools]
            for prefix, vid in self.expected.prefixes.items():
                if network(scope) == prefix or any(host in prefix for host in first):
                    yield vid

    def names(self, bridge: str) -> Iterator[int]:
        """Yield the VLANs of the Wi-Fi names that lead into it."""
        for name, wifi in self.state.ssids.items():
            if bridge in _tuple(wifi.vlan) and name in self.expected.wifi:
                yield self.expected.wifi[name]

    def ports(self, bridge: str) -> Iterator[int]:
        """Yield the planned VLANs of the untagged frames of its ports, one each."""
        for name, port in self.state.ports.items():
            planned = self.expected.state.ports.get(self.born.get(name, name))
            if port.untagged == bridge and planned and isinstance(planned.untagged, int):
                yield planned.untagged

    def elsewhere(self, vid: int, bridge: str) -> bool:
        """Return whether the device has a VLAN of its own beside a bridge, so that the two are apart.

        What leads into another bridge is part of that.
        """
        if vid in self.state.gateways:
            return True
        if vid not in self.tags_into.get(bridge, ()) and any(vid in _tuple(w.vlan) for w in self.state.ssids.values()):
            return True
        carrying = [name for name, port in self.state.ports.items() if vid in port.tagged or vid == port.untagged]
        return any(vid not in self.leads.get(name, {}) for name in carrying)


_STRONGEST = (_Numbering.tags, _Numbering.addresses, _Numbering.leases, _Numbering.names)
"""What tells the subnet of a bridge before its ports do, the strongest first."""


def _tuple(vlan: Domain | tuple[Domain | None, ...] | None) -> tuple[Domain | None, ...]:
    return vlan if isinstance(vlan, tuple) else (vlan,)


def _with_numbers(state: DeviceState, found: Mapping[str, int]) -> DeviceState:
    """Return a state with numbers in the place of bridges."""

    def of(each: Domain | None) -> Domain | None:
        return found.get(each, each) if isinstance(each, str) else each

    def port(item: Port) -> Port:
        return item.model_copy(update={"untagged": of(item.untagged)}) if isinstance(item.untagged, str) else item

    def wifi(item: Ssid) -> Ssid:
        vlans = tuple(dict.fromkeys(map(of, _tuple(item.vlan))))
        return item.model_copy(update={"vlan": vlans if len(vlans) > 1 else vlans[0]})

    vlans: dict[Domain, Vlan] = {}
    for key, vlan in state.vlans.items():
        vlans.setdefault(found.get(str(key), key), vlan)
    return state.model_copy(
        update={
            "vlans": vlans,
            "ports": {name: port(item) for name, item in state.ports.items()},
            "gateways": {found.get(str(key), key): item for key, item in state.gateways.items()},
            "ssids": {name: wifi(item) for name, item in state.ssids.items()},
        }
    )
