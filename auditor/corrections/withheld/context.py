"""What is known of a device that a change may cut off: its addresses, its ways out, and the ports that lead to it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from ipaddress import AddressValueError, IPv4Address, IPv4Network
from typing import Any, NamedTuple

from auditor.areas import Mismatch, Pair, Reading
from auditor.areas.block import Block
from auditor.core.addresses import interface_address
from auditor.core.domains import Domain, domain
from auditor.core.state import Port, Setting
from auditor.corrections.change import Change
from auditor.corrections.position import Position
from auditor.platforms.definition import Platform
from auditor.platforms.proposals import CorrectionRules
from auditor.topology.routes import Route

_ADDRESS = re.compile(r"(?<![\d.])\d{1,3}(?:\.\d{1,3}){3}(?![\d.])")


class ConfigLine(NamedTuple):
    """A line of the configuration with the first line that it stands below."""

    text: str
    block: Block

    @property
    def place(self) -> str:
        """Where it stands: the file, and the number of the first line of its section."""
        return f"{self.block.file}:{self.block.number}" if self.block.number else self.block.file


class WayOut(NamedTuple):
    """Where packets for elsewhere go: a next hop, empty where there is none, and the line that says so."""

    hop: str
    line: str


class Readdressing(NamedTuple):
    """What a change does to the addresses of one interface; ``dhcp`` and ``pppoe`` stand for what is given to it.

    Attributes:
        place: the interface: ``gateways.10``, ``uplinks.ether1``.
        fields: the settings that the addresses are values of.
        before, after: its addresses, with their prefix length as far as it is known.
    """

    place: Setting
    fields: tuple[Setting, ...]
    before: tuple[str, ...]
    after: tuple[str, ...]

    @property
    def gone(self) -> tuple[str, ...]:
        """Addresses that are taken away."""
        return tuple(text for text in self.before if text not in self.after)

    @property
    def come(self) -> tuple[str, ...]:
        """Addresses that are new."""
        return tuple(text for text in self.after if text not in self.before)


@dataclass
class DeviceContext:
    """A device as it was read, beside what the plan says of it.

    Attributes:
        mismatches: all that is not as planned on it, by setting.
    """

    pair: Pair
    reading: Reading
    platform: Platform
    position: Position
    mismatches: dict[Setting, Mismatch]

    @property
    def rules(self) -> CorrectionRules:
        """What the platform's data say of its commands."""
        return self.platform.correction

    @cached_property
    def statements(self) -> list[ConfigLine]:
        """All lines of the capture, each with its section's first line, and each section as one line."""
        found = []
        for block in self.reading.blocks:
            whole = "\n".join(block.lines).replace("\\\n", "").replace("\n", " ")
            texts = [block.header, *(f"{block.header} {line}" for line in block.lines)]
            found += [ConfigLine(text, block) for text in dict.fromkeys([*texts, f"{block.header} {whole}".strip()])]
        return found

    @cached_property
    def ways_out(self) -> list[WayOut]:
        """The next hops of default routes and default gateways, and what leads out without one."""
        routes = [route for route in self.reading.routes.every if route.everywhere]
        return [WayOut(str(hop), self._written(route)) for route in routes for hop in route.hops] + [
            WayOut("", self._written(route)) for route in routes if not route.hops
        ]

    def _written(self, route: Route) -> str:
        ref = route.refs[0]
        return self.reading.lines[ref.source].texts[ref.line - 1].strip()

    @cached_property
    def addressed(self) -> dict[Setting, tuple[str, ...]]:
        """The addresses of all layer-3 interfaces that were observed, whether the plan has them or not."""
        found: dict[Setting, tuple[str, ...]] = {}
        for state in (self.pair.observed, self.reading.state):
            for vid, gateway in state.gateways.items():
                found[Setting("gateways", str(vid))] = (*gateway.addresses, *gateway.shared_addresses)
            for port, uplink in state.uplinks.items():
                found[Setting("uplinks", self.planned_name(port))] = uplink.addresses or (uplink.method,)
        return found

    def addressed_port(self, port: str) -> bool:
        """Return whether a port, or an interface that lies on it, has a fixed address of its own."""
        if networks_of(self.addressed.get(Setting("uplinks", port), ())):
            return True
        name = re.compile(rf"(?<![\d/]){re.escape(self.name_now(port).replace(' ', ''))}(?![\d/])", re.IGNORECASE)
        headers = {block.header for block in self.reading.blocks_of(Setting("ports", self.name_now(port)))}
        own = [re.escape(header) for header in headers if name.search(re.sub(r"[ \ue000]", "", header))]
        within = re.compile(rf"(?:{'|'.join(own)})(?![\d/])" if own else r"(?!)")
        lines = [statement.text for statement in self.statements if within.match(statement.block.header)]
        return any(not text.startswith(("0.", "255.")) for line in lines for text in _ADDRESS.findall(line))

    def name_now(self, port: str) -> str:
        """Return what the device calls a port that the plan calls by the name it was born with."""
        return self.reading.born_as.get(port, port)

    def planned_name(self, port: str) -> str:
        """Return what the plan calls a port that the device calls by another name."""
        planned = {*self.pair.expected.state.ports, *self.pair.expected.ignored_ports}
        names = {now: born for born, now in self.reading.born_as.items() if born in planned}
        return port if port in planned else names.get(port, port)

    @cached_property
    def bridges(self) -> dict[str, Domain]:
        """The bridges of the device that keep no VLANs apart, by name with the number that they were compared under."""
        return {name: self.reading.numbered.get(name, name) for name in self.reading.tags_into}

    @cached_property
    def own_places(self) -> set[Setting]:
        """The interfaces that have the device's planned own address."""
        return {place for place, texts in self.addressed.items() if self.is_own(texts)}

    def is_own(self, texts: Iterable[str]) -> bool:
        """Return whether the device's planned own address is among some."""
        return self.position.address is not None and self.position.address in map(host_of, texts)

    @cached_property
    def managed_in(self) -> set[Domain]:
        """The VLANs by which the device may be managed; none where the plan says no address.

        That of its planned own address and, where it does not have that address, all in which it has one.
        """
        if self.position.address is None:
            return set()
        places = self.own_places or set(self.addressed)
        seen = {domain(place.key) for place in places if place.area == "gateways"}
        return seen | ({self.position.managed_in} if self.position.managed_in else set())

    def may_lead_in(self, port: str, vids: set[Domain]) -> bool:
        """Return whether whoever works on the device may come by a port that carries some of its management now.

        Not by one that is no link, where a planned link by which they may come carries the same as planned. Without
        planned links nobody knows which port leads to them.
        """
        return port in self._links_in or not any(self._intact(link, vids) for link in self._links_in)

    @cached_property
    def _links_in(self) -> set[str]:
        """The ports at ends of planned links by which whoever works on the device may come."""
        return {port for port in self.position.linked if self.position.leads(port) != "away" or self._is_gateway}

    def _intact(self, name: str, vids: set[Domain]) -> bool:
        """Return whether a port is on and carries some VLANs, and is as planned in that."""
        planned, seen = (state.ports.get(name) for state in (self.pair.expected.state, self.pair.observed))
        idle = Setting("ports", name) in self.reading.ineffective
        if planned is None or seen is None or not seen.enabled or idle:
            return False
        return all(how_carried(vid, seen) and how_carried(vid, seen) == how_carried(vid, planned) for vid in vids)

    @property
    def _is_gateway(self) -> bool:
        return self.position.device == self.position.gateway

    def readdressings(self, changes: Iterable[Change]) -> list[Readdressing]:
        """Return what some changes do to the addresses of layer-3 interfaces."""
        return [found for change in changes for found in self._readdressings(change) if found.before != found.after]

    def _readdressings(self, change: Change) -> Iterator[Readdressing]:
        place = change.setting.item
        if place.area == "gateways":
            for name in ("addresses", "shared_addresses"):
                before, after = (getattr(item, name) if item else () for item in (change.before, change.item))
                yield Readdressing(place, (Setting("gateways", "", name),), before, after)
        elif place.area == "uplinks":
            fields = (Setting("uplinks", "", "address"), Setting("uplinks", "", "method"))
            before, after = (self._of_uplink(place, item) for item in (change.before, change.item))
            same = not change.before or not change.item or change.before.method == change.item.method
            yield Readdressing(place, fields[:1] if same else fields, before, after)

    def _of_uplink(self, place: Setting, uplink: Any) -> tuple[str, ...]:
        """Return an uplink's address; where the plan leaves out its length, with the one that it has now."""
        if uplink is None:
            return ()
        address = uplink.address or uplink.method
        had = self.addressed.get(place, ("",))[0]
        if uplink.address and "/" not in address and "/" in had:
            address = f"{address}/{had.partition('/')[2]}"
        return (address,)

    def naming(self, nets: Iterable[IPv4Network], but: Iterable[str], blocks: list[Block]) -> ConfigLine | None:
        """Return a line outside of some sections that names an address of some networks, other than some addresses."""
        within, known = list(nets), {host_of(text) for text in but}
        for statement in self.statements:
            if statement.block in blocks:
                continue
            for text in _ADDRESS.findall(statement.text):
                address = host_of(text)
                if address and address not in known and any(address in net for net in within):
                    return statement
        return None


def how_carried(vid: Domain, port: Port) -> str:
    """Return how a port carries a VLAN; empty where it does not."""
    return "untagged" if port.untagged == vid else "tagged" if vid in port.tagged else ""


def host_of(text: str) -> IPv4Address | None:
    """Return the address that a text is, whatever its prefix length; ``None`` for ``dhcp``, names and the like."""
    try:
        return IPv4Address(text.partition("/")[0])
    except AddressValueError:
        return None


def addresses_in(text: str) -> set[IPv4Address | None]:
    """Return the addresses in a text, wherever they stand."""
    return {host_of(found) for found in _ADDRESS.findall(text)}


def networks_of(texts: Iterable[str]) -> set[IPv4Network]:
    """Return the networks of addresses; of one without a prefix length, nothing is known."""
    return {interface_address(text).network for text in texts if text[:1].isdecimal() and "/" in text}
