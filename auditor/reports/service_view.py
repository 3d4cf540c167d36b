"""What a site's network does for people, in words: service paths as rows, leaks, what is not separate.

Text of plans and devices is made safe here; escaping is each format's own affair.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from auditor.core.port_names import shorten_names
from auditor.core.service import Fault, Leak, PathState, Separation, ServiceKind, ServicePath, Services
from auditor.core.state import Setting
from auditor.reports.sanitize import sanitize

LAYER_NOTE = (
    "Separate means not joined by switching: no broadcast domain holds two of them. What a gateway routes or filters "
    "between subnets is not audited."
)
SIGNS = {"reached": "✓", "broken": "✕", "unverified": "?", "shared": "▲", "none": "\N{EN DASH}"}
_ORDER: tuple[PathState, ...] = ("broken", "unverified", "reached")
_KINDS: tuple[ServiceKind, ...] = ("wifi", "port", "device")


@dataclass(frozen=True, slots=True)
class Cell:
    """A state: what it is, for colour and sign, and its words."""

    state: str
    words: str

    @property
    def sign(self) -> str:
        """The sign that says the same as the colour."""
        return SIGNS[self.state]


@dataclass(frozen=True, slots=True)
class ServiceRow:
    """Service paths that fare alike.

    Attributes:
        service, where: what is served, and on which devices and ports.
        subnet: with its VLAN.
        state: of the whole path.
        gateway, dhcp, separated: how it is with each.
        broken: where it is broken or unverified, nearest first; empty if reached.
    """

    service: str
    where: str
    subnet: str
    state: PathState
    gateway: Cell
    dhcp: Cell
    separated: Cell
    broken: list[str]

    @property
    def cells(self) -> list[tuple[str, Cell]]:
        """The states in the order of their columns, each with its heading."""
        path = Cell(self.state, self.state)
        return [("path", path), ("gateway", self.gateway), ("DHCP", self.dhcp), ("separate", self.separated)]


@dataclass(frozen=True, slots=True)
class Serving:
    """All of it.

    Attributes:
        summary: one line, empty where nothing is served; a port counts as one path, as does a Wi-Fi name on one device.
        rows: broken ones first, then unverified ones, the reached ones last.
        leaks: where a VLAN reaches that it should not, and why.
        mixed: subnets that are not separate, or could not be checked.
    """

    summary: str = ""
    rows: list[ServiceRow] = field(default_factory=list)
    leaks: list[str] = field(default_factory=list)
    mixed: list[str] = field(default_factory=list)

    @property
    def lists(self) -> list[tuple[str, list[str]]]:
        """The lists of sentences, each with its title; those with nothing in them are left out."""
        every = [
            ("Subnets that reach places where they are not planned", self.leaks),
            ("Not separate, or could not be checked", self.mixed),
        ]
        return [(title, texts) for title, texts in every if texts]


def serving_of(services: Services) -> Serving:
    """Return the words for a site's services."""
    separated = {(item.subnet, item.vlan): item for item in services.separated}
    grouped: dict[tuple[object, ...], list[ServicePath]] = {}
    for path in sorted(services.paths, key=lambda path: (_ORDER.index(path.state), _KINDS.index(path.kind))):
        grouped.setdefault(_likeness(path), []).append(path)
    return Serving(
        summary=_summary(services),
        rows=[_row(paths, separated.get((paths[0].subnet, paths[0].vlan))) for paths in grouped.values()],
        leaks=_leaks(services.leaks),
        mixed=[_mixed(item) for item in services.separated if item.state != "separated"],
    )


def _likeness(path: ServicePath) -> tuple[object, ...]:
    """Return what paths have in common that share a row."""
    names = tuple(path.places) if path.kind == "wifi" else ()
    faults = tuple(_fault(fault) for fault in path.faults)
    fares = (path.state, path.way, path.gateway, path.dhcp, path.gateway_device)
    return (path.kind, names, path.subnet, path.vlan, fares, faults)


def _row(paths: list[ServicePath], separated: Separation | None) -> ServiceRow:
    path = paths[0]
    devices = ", ".join(dict.fromkeys(sanitize(item.device) for item in paths))
    match path.kind:
        case "wifi":
            service, where = f"Wi-Fi {', '.join(sanitize(name) for name in path.places)}", devices
        case "port":
            service, where = "Ports", _ports((item.device, item.places) for item in paths)
        case "device":
            service, where = "The devices themselves" if len(paths) > 1 else "The device itself", devices
    return ServiceRow(
        service=service,
        where=where,
        subnet=f"{sanitize(path.subnet)} (VLAN {path.vlan})",
        state=path.state,
        gateway=_gateway(path),
        dhcp=_dhcp(path),
        separated=_separated(separated),
        broken=[_fault(fault) for fault in path.faults] if path.state != "reached" else [],
    )


def _ports(places: Iterable[tuple[str, list[str]]]) -> str:
    """Return ports with their devices, runs of them as ranges."""
    ports: dict[str, list[str]] = {}
    for device, names in places:
        ports.setdefault(device, []).extend(names)
    return "; ".join(sanitize(f"{device} {shorten_names(names)}") for device, names in ports.items())


def _gateway(path: ServicePath) -> Cell:
    name = sanitize(path.gateway_device or "")
    if path.way == "broken":
        return Cell("broken", f"{name} not reached".strip())
    if path.gateway == "broken":
        return Cell("broken", f"{name} does not have the planned address".strip())
    if "unverified" in (path.way, path.gateway):
        return Cell("unverified", f"{name} unverified".strip())
    if path.gateway is None:
        return Cell("none", "not routed")
    return Cell("reached", f"{name} reached".strip())


def _dhcp(path: ServicePath) -> Cell:
    if path.dhcp is None:
        return Cell("none", "none planned")
    if path.way == "broken":
        return Cell("broken", "not reached")
    if path.dhcp == "broken":
        return Cell("broken", "not as planned")
    if "unverified" in (path.way, path.dhcp):
        return Cell("unverified", "unverified")
    return Cell("reached", "leases addresses")


def _separated(item: Separation | None) -> Cell:
    if item is None:
        return Cell("none", "not checked")
    if item.state == "shared":
        return Cell("shared", f"shares with {_names(item.shared_with)}")
    return Cell("reached", "separate") if item.state == "separated" else Cell("unverified", "unverified")


def _mixed(item: Separation) -> str:
    subnet = f"{sanitize(item.subnet)} (VLAN {item.vlan})"
    wish = ", and should be isolated" if item.isolated else ""
    if item.state == "shared":
        return f"{subnet} shares a broadcast domain with {_names(item.shared_with)}{wish}"
    return f"{subnet}: could not check whether it is kept apart from the others{wish}"


def _names(names: list[str]) -> str:
    return ", ".join(sanitize(name) for name in names) or "others"


def _fault(fault: Fault) -> str:
    return sanitize(" ".join(part for part in (fault.device, fault.place, fault.why) if part))


def _leaks(leaks: list[Leak]) -> list[str]:
    grouped: dict[tuple[object, ...], list[Leak]] = {}
    for leak in leaks:
        grouped.setdefault((leak.subnet, leak.vlan, leak.kind, leak.device, tuple(leak.at)), []).append(leak)
    return [_leak(alike) for alike in grouped.values()]


def _leak(alike: list[Leak]) -> str:
    leak = alike[0]
    places = ", ".join(item.place for item in alike) if leak.kind == "wifi" else shorten_names(i.place for i in alike)
    kind = "Wi-Fi " if leak.kind == "wifi" else ""
    text = f"{leak.subnet} (VLAN {leak.vlan}) reaches {leak.device} {kind}{places}".rstrip()
    why = " and ".join(dict.fromkeys(_because(device, setting, alike) for device, setting in leak.at))
    return sanitize(f"{text}, because {why}" if why else text)


def _because(device: str, setting: Setting, leaks: list[Leak]) -> str:
    """Say why a subnet reaches places, by the port or Wi-Fi name that has the setting."""
    if any((leak.device, leak.place) == (device, setting.key) for leak in leaks):
        return f"that {'Wi-Fi name' if setting.area == 'ssids' else 'port'} is set to {leaks[0].subnet}"
    return f"{device} {setting.key} carries it"


def _summary(services: Services) -> str:
    if not services.paths:
        return ""
    counts: Counter[PathState] = Counter()
    for path in services.paths:
        counts[path.state] += max(1, len(path.places))
    states: tuple[PathState, ...] = ("reached", "broken", "unverified")
    told = ["service paths: " + ", ".join(f"{counts[state]} {state}" for state in states)]
    for words, state in (
        ("not separate", "shared"),
        ("could not check whether these are kept apart", "unverified"),
    ):
        if found := [item.subnet for item in services.separated if item.state == state]:
            told.append(f"{words}: {_names(found)}")
    if leaking := list(dict.fromkeys(leak.subnet for leak in services.leaks)):
        told.append(f"leaking: {_names(leaking)}")
    return "; ".join(told)
