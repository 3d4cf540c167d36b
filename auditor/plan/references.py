"""What the entries of a plan say of each other: names that must exist, ports that must be free."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from typing import Any

from auditor.core.renamed import setting_now
from auditor.core.state import KEYED_AREAS, fields_of
from auditor.plan import file_names
from auditor.plan.schema import Deviation, Device, PlanFile, PortPlan, UnlistedAccess
from auditor.platforms import catalogue
from auditor.platforms.names import names_of

KeyPath = tuple[str | int, ...]
Found = Iterator[tuple[KeyPath, str]]
PortsByDevice = dict[str, dict[str, PortPlan]]
SET_ASIDE = "\0"
"""Stands for a link's end that was wrong already."""


def check(plan: PlanFile, raw: dict[str, Any]) -> tuple[PortsByDevice, list[tuple[KeyPath, str]]]:
    """Return each device's ports by canonical name, and everything that does not fit together, with its place.

    ``raw`` is the file's data before entries of the wrong shape were set aside: their names count as known.
    """
    checker = _Checker(plan, raw)
    return checker.ports, checker.found


class _Checker:
    def __init__(self, plan: PlanFile, raw: dict[str, Any]) -> None:
        self.plan = plan
        self.subnets = _keys(raw, "subnets")
        self.devices = _keys(raw, "devices")
        entries = raw.get("devices")
        self.raw_devices: dict[str, Any] = entries if isinstance(entries, dict) else {}
        self.ports: PortsByDevice = {}
        self.all_ports: dict[str, set[str]] = {}
        self.found: list[tuple[KeyPath, str]] = []
        for part in (self.of_devices, self.of_subnets, self.of_wifi, self.of_links, self.of_deviations):
            self.found.extend(part())

    def known(self, path: KeyPath, name: str | None, what: str, names: list[str]) -> Found:
        """Complain about a name that nothing in the plan has."""
        if name is not None and name not in names:
            subnets = self.plan.subnets.items() if what == "subnet" else ()
            numbered = [each for each, subnet in subnets if name == str(subnet.vlan)]
            near = numbered or difflib.get_close_matches(name, names, 1, 0.5)
            hint = f": did you mean {near[0]}?" if near else f"; known: {', '.join(names)}" if names else ""
            none = "there is no" if what.startswith(("area", "field", "platform")) else "the plan has no"
            yield path, f"{none} {what} named {name!r}{hint}"

    def of_devices(self) -> Found:
        yield from self.known(("defaults", "gateway"), self.plan.defaults.gateway, "device", self.devices)
        unlisted = self.plan.defaults.unlisted_ports
        if isinstance(unlisted, UnlistedAccess):
            yield from self.known(("defaults", "unlisted_ports", "access"), unlisted.access, "subnet", self.subnets)
        first: dict[str, str] = {}
        for name, device in self.plan.devices.items():
            here = ("devices", name)
            if not name:
                yield here, "a device needs a name"
            if not name.isprintable():
                yield here, "a device's name must not have signs that cannot be seen"
            elif any(character in " /\\" for character in name) or name.startswith("."):
                yield (
                    here,
                    "a device's name must not have blanks or slashes: its captures are kept in files of that name",
                )
            elif why := file_names.unusable(name):
                yield here, why
            other = first.setdefault(file_names.same_file(name), name)
            if other != name:
                yield here, f"{name} and {other} would be one file on Windows and macOS: rename one of them"
            if catalogue.folder_of(device.platform):
                yield from self.of_ports(name, device)
            else:
                yield from self.known((*here, "platform"), device.platform, "platform", list(catalogue.names()))
            if isinstance(device.unlisted_ports, UnlistedAccess):
                path = (*here, "unlisted_ports", "access")
                yield from self.known(path, device.unlisted_ports.access, "subnet", self.subnets)

    def of_ports(self, name: str, device: Device) -> Found:
        book = names_of(device.platform)
        ports: dict[str, PortPlan] = {}
        first: dict[str, str] = {}
        for key in _raw_ports(self.raw_devices.get(name)):
            here = ("devices", name, "ports", key)
            try:
                names = book.planned(key)
            except ValueError as error:
                yield here, str(error)
                continue
            for port in names:
                if port in first:
                    yield here, f"port {port} is also in {first[port]!r}"
                first.setdefault(port, key)
                if key in device.ports:
                    ports.setdefault(port, device.ports[key])
            if key in device.ports:
                yield from self.of_port(here, device.ports[key])
        self.ports[name] = ports
        self.all_ports[name] = set(first)

    def of_port(self, here: KeyPath, port: PortPlan) -> Found:
        for key in ("access", "voice", "native"):
            yield from self.known((*here, key), getattr(port, key), "subnet", self.subnets)
        if isinstance(port.trunk, list):
            for index, subnet in enumerate(port.trunk):
                yield from self.known((*here, "trunk", index), subnet, "subnet", self.subnets)
        if port.voice is not None and port.voice == port.access:
            yield (*here, "voice"), "the voice subnet is the port's own: voice travels tagged beside it"

    def of_subnets(self) -> Found:
        vlans: dict[int, str] = {}
        prefixes: dict[Any, str] = {}
        for name, subnet in self.plan.subnets.items():
            here = ("subnets", name)
            if not name:
                yield here, "a subnet needs a name"
            if subnet.vlan in vlans:
                yield (*here, "vlan"), f"VLAN {subnet.vlan} is already that of subnet {vlans[subnet.vlan]!r}"
            if subnet.prefix in prefixes:
                yield (*here, "prefix"), f"{subnet.prefix} is already that of subnet {prefixes[subnet.prefix]!r}"
            vlans.setdefault(subnet.vlan, name)
            prefixes.setdefault(subnet.prefix, name)
            yield from self.known((*here, "gateway", "on"), subnet.gateway.on, "device", self.devices)
            dhcp = subnet.dhcp
            if dhcp is None:
                continue
            if dhcp.relay and dhcp.pool:
                yield (*here, "dhcp"), "expected a pool or a relay, not both: a relay's pool is kept by its server"
            if dhcp.none and (dhcp.pool or dhcp.relay):
                yield (*here, "dhcp"), "dhcp is none, so it has neither pool nor relay"
            if not (dhcp.none or dhcp.pool or dhcp.relay):
                yield (*here, "dhcp"), "expected none, {pool: FIRST-LAST} or {relay: [ADDRESS]}"
            if (dhcp.pool or dhcp.relay) and not (subnet.gateway.on or self.plan.defaults.gateway):
                yield (*here, "dhcp"), "no device serves it: say which under gateway or defaults.gateway"

    def of_wifi(self) -> Found:
        for name, wifi in self.plan.wifi.items():
            here = ("wifi", name)
            if not 1 <= len(name.encode()) <= 32:
                yield here, "a Wi-Fi name has 1 to 32 octets (IEEE 802.11)"
            yield from self.known((*here, "subnet"), wifi.subnet, "subnet", self.subnets)
            for index, device in enumerate(wifi.on):
                yield from self.known((*here, "on", index), device, "device", self.devices)

    def of_links(self) -> Found:
        for index, ends in enumerate(self.plan.links):
            for side, end in enumerate(ends):
                here = ("links", index, side)
                device, _, port = end.partition(" ")
                if end == SET_ASIDE:
                    continue
                if not port:
                    yield here, f"expected DEVICE PORT, such as 'core1 GigabitEthernet1/0/24', not {end!r}"
                    continue
                yield from self.known(here, device, "device", self.devices)
                if device in self.all_ports:
                    spelt = names_of(self.plan.devices[device].platform).canonical(port)
                    ports = sorted(self.all_ports[device])
                    yield from self.known(here, spelt, f"port of {device}", ports)

    def of_deviations(self) -> Found:
        for index, deviation in enumerate(self.plan.deviations):
            here = ("deviations", index)
            if deviation.device != SET_ASIDE:
                yield from self.known((*here, "device"), deviation.device, "device", self.devices)
            if deviation.setting != SET_ASIDE:
                yield from self.of_setting((*here, "setting"), deviation)
            if deviation.line and deviation.observed is not None:
                yield (*here, "line"), "give either observed: (a finding) or line: (an overriding line), not both"

    def of_setting(self, here: KeyPath, deviation: Deviation) -> Found:
        """Complain about a setting that there cannot be."""
        area, _, rest = setting_now(deviation.setting).partition(".")
        areas = ["hostname", "management", *KEYED_AREAS]
        key, dot, last = rest.rpartition(".")
        if area not in areas:
            yield from self.known(here, area, "area of settings", areas)
        elif area == "management" and rest not in fields_of(area) and (rest or not deviation.line):
            yield from self.known(here, rest, "field of management", list(fields_of(area)))
        elif area in KEYED_AREAS and not rest and not deviation.line:
            yield here, f"expected {area}.KEY or {area}.KEY.FIELD"
        elif area in KEYED_AREAS and dot and (key in self.all_ports.get(deviation.device, ()) or _is_near(area, last)):
            yield from self.known(here, last, f"field of {area}", list(fields_of(area)))


def _is_near(area: str, word: str) -> bool:
    return bool(difflib.get_close_matches(word, fields_of(area), 1, 0.75))


def _keys(raw: dict[str, Any], section: str) -> list[str]:
    entries = raw.get(section)
    return list(entries) if isinstance(entries, dict) else []


def _raw_ports(device: Any) -> Iterable[str]:
    ports = device.get("ports") if isinstance(device, dict) else None
    return list(ports) if isinstance(ports, dict) else []
