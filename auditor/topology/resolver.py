"""Whether a device that clients are told to ask for names answers them, where its resolver does not answer all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from ipaddress import IPv4Network, ip_network

from auditor.core.state import DhcpScope, Setting
from auditor.reading.source import Bearing, Ref
from auditor.topology.device import Topology
from auditor.topology.interfaces import Interface
from auditor.topology.layer3 import LEASED, own_addresses

_UNANSWERED = "Clients are told to ask this device for names, and it answers none: let it answer, or tell them another"
_EVERY = "0.0.0.0"  # noqa: S104 - as it stands in a capture


def unanswered(
    topology: Topology, scopes: Mapping[str, DhcpScope], lines: Callable[[Setting], list[Ref]]
) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines by which clients are told a DNS server that is the device and does not answer them.

    ``scopes``: what is served; ``lines``: where a setting was read.
    """
    holders = _holders(topology)
    for key, scope in scopes.items():
        own = [server for server in scope.dns or () if server in holders]
        if not all(_answers(topology, IPv4Network(key), server, holders[server]) for server in own):
            bearing = Bearing(_UNANSWERED, (Setting("dhcp", field="dns"),), key=key, contradicts=True)
            yield from ((ref, bearing) for ref in lines(Setting("dhcp", key, "dns")))


def _holders(topology: Topology) -> dict[str, list[Interface]]:
    """Return by own address of the device the interfaces that have it."""
    found: dict[str, list[Interface]] = {}
    for interface in topology.layer3.addressed:
        for address in {*own_addresses(interface), *interface.shared_addresses} - {*LEASED}:
            found.setdefault(address.partition("/")[0], []).append(interface)
    return found


def _answers(topology: Topology, net: IPv4Network, server: str, holders: list[Interface]) -> bool:
    """Return whether clients in a network are answered at an own address of the device.

    Clients of a network that is not on the
    device come in by one that nobody knows.
    """
    system = topology.system
    enters = topology.layer3.interfaces_in(net)
    if not system.answers_names:
        return False
    if system.names_from and not any(net.subnet_of(each) for each in _networks(system.names_from)):
        return False
    if any(interface.name in system.names_off for interface in (*enters, *holders)):
        return False
    if not (system.names_at or system.names_on or system.names_by):
        return True
    if not {server, _EVERY}.isdisjoint(system.names_at) or any(each.name in system.names_on for each in holders):
        return True
    heard = not enters or any(each.name in system.names_by for each in enters)
    return heard and any(each.name in system.names_by for each in holders)


def _networks(texts: tuple[str, ...]) -> Iterator[IPv4Network]:
    for text in texts:
        net = ip_network(text, strict=False)
        if isinstance(net, IPv4Network):
            yield net
