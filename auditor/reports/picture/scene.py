"""What the picture of a site shows: devices, what they serve, the tree of links; in words, without any place."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from auditor.core.report import DeviceReport, Report
from auditor.core.service import LinkReport, PathState, Services
from auditor.core.values import VlanSet
from auditor.reports.sanitize import sanitize

RANKS = {"gateway": 0, "core": 1, "access": 2, "ap": 3}
"""Roles from the top of the picture down; any other stands lowest."""
DASH = " \N{EN DASH} "
"""Between the ends of a link."""
_TONES: dict[PathState, str] = {"reached": "good", "broken": "stops", "unverified": "unverified"}
_VERDICTS = {"conforming": "good", "nonconforming": "differs", "incomplete": "unverified"}


@dataclass(frozen=True, slots=True)
class TextLine:
    """A line of text: its sign and colour (``good``, ``stops``, ``leaks``, ``unverified``, ``differs``, or neither).

    ``right`` stands at the end of the line and is never shortened for the sake of ``text``; ``sign`` says whether the
    colour's sign stands before it.
    """

    text: str
    tone: str = ""
    right: str = ""
    sign: bool = True


@dataclass(frozen=True, slots=True)
class Card:
    """A device: its name, its lines, and the Wi-Fi names and other things it serves below them."""

    name: str
    rank: int
    outline: str
    lines: list[TextLine]
    served: list[TextLine]

    @property
    def words(self) -> str:
        """The same for those who hear it or point at it."""
        return f"{self.name}, {'; '.join(in_words(line) for line in self.lines + self.served)}"


@dataclass(frozen=True, slots=True)
class DrawnLink:
    """A planned link, from the end nearer to the gateway to the other.

    Attributes:
        ends: numbers of the cards.
        ports: the port at each end.
        lines: the VLANs as planned, then what is wrong.
        tones: ``stops``, ``leaks``, ``unverified``: how the line is drawn.
        words: the same for those who hear it or point at it.
    """

    ends: tuple[int, int]
    ports: tuple[str, str]
    lines: list[TextLine]
    tones: frozenset[str]
    words: str


@dataclass(frozen=True, slots=True)
class Scene:
    """The picture before it has places.

    Attributes:
        title: what it is a picture of.
        cards: devices, those at the top first.
        parents: for each card the link that leads to it from above, or ``None``.
        words: the whole in sentences.
        linked: whether the plan names links at all.
    """

    title: str
    cards: list[Card]
    parents: list[DrawnLink | None]
    words: list[str]
    linked: bool


@dataclass(slots=True)
class _Marks:
    """What is wrong at one device, as VLANs."""

    faults: set[int] = field(default_factory=set)
    unverified: set[int] = field(default_factory=set)
    leaks: set[int] = field(default_factory=set)

    def lines(self) -> list[TextLine]:
        every = (
            ("stops", "broken here", self.faults),
            ("leaks", "leaks", self.leaks),
            ("unverified", "unverified", self.unverified - self.faults),
        )
        return [TextLine(f"{words}: {VlanSet(vlans)}", tone) for tone, words, vlans in every if vlans]


def scene_of(report: Report) -> Scene:
    """Return what is to be drawn of a report. A pure function: the same report gives the same scene."""
    devices = sorted(report.devices, key=_rank)
    numbers = {device.name: number for number, device in enumerate(devices)}
    links = [
        link
        for planned in report.services.links
        if (link := _link(planned, numbers)) is not None and link.ends[0] != link.ends[1]
    ]
    parents = _tree(devices, links)
    drawn = {id(link) for link in parents if link}
    others = [link for link in links if id(link) not in drawn]
    marks, served = _at_devices(report)
    cards = []
    for number, device in enumerate(devices):
        stubs = [_stub(link, number, devices) for link in others if number in link.ends]
        lines = [_verdict(device), *marks[device.name].lines(), *stubs]
        outline = _VERDICTS[device.verdict] if device.outcome == "audited" else "unverified"
        cards.append(Card(sanitize(device.name), _rank(device), outline, lines, served[device.name]))
    return Scene(
        title=f"Picture of {sanitize(report.site)}: devices, links and Wi-Fi names",
        cards=cards,
        parents=[_downwards(link, number) for number, link in enumerate(parents)],
        words=[*(card.words for card in cards), *(link.words for link in links)],
        linked=bool(links),
    )


def _rank(device: DeviceReport) -> int:
    return RANKS.get(device.role, len(RANKS))


def _verdict(device: DeviceReport) -> TextLine:
    audited = device.outcome == "audited"
    tone = _VERDICTS[device.verdict] if audited else "unverified"
    return TextLine(f"{sanitize(device.role)} · {device.verdict if audited else device.outcome}", tone)


def _link(planned: LinkReport, numbers: dict[str, int]) -> DrawnLink | None:
    """Return a link in words, its upper end by role first; ``None`` where a device is none of the report's."""
    (one, its_port), (other, other_port) = planned.ends
    if one not in numbers or other not in numbers:
        return None
    wrong = []
    if planned.stopped or planned.state == "stopped":
        wrong.append(TextLine(f"stops: {planned.stopped or planned.planned}", "stops"))
    if planned.leaking or planned.state == "leaking":
        wrong.append(TextLine(f"leaks: {planned.leaking or planned.observed or ''}", "leaks"))
    if planned.state == "unverified":
        wrong.append(TextLine("unverified", "unverified"))
    lines = [
        TextLine(sanitize(planned.planned) or "no VLAN"),
        *(TextLine(sanitize(line.text), line.tone) for line in wrong),
    ]
    return DrawnLink(
        ends=(numbers[one], numbers[other]),
        ports=(sanitize(its_port), sanitize(other_port)),
        lines=lines,
        tones=frozenset(line.tone for line in wrong),
        words=sanitize(f"{one} {its_port}{DASH}{other} {other_port}: VLANs ")
        + "; ".join(line.text for line in (lines if wrong else [*lines, TextLine("as planned")])),
    )


def _tree(devices: list[DeviceReport], links: list[DrawnLink]) -> list[DrawnLink | None]:
    """Return for each device the link from above, on the shortest way to a gateway or else to the topmost."""
    beside: dict[int, list[DrawnLink]] = {number: [] for number in range(len(devices))}
    for link in links:
        for end in link.ends:
            beside[end].append(link)
    parents: list[DrawnLink | None] = [None] * len(devices)
    met = {number for number, device in enumerate(devices) if _rank(device) == 0}
    queue = sorted(met)
    for root in [None, *range(len(devices))]:
        if root is not None and root not in met:
            met.add(root)
            queue.append(root)
        while queue:
            here = queue.pop(0)
            for link in beside[here]:
                there = link.ends[1] if link.ends[0] == here else link.ends[0]
                if there not in met:
                    met.add(there)
                    parents[there] = link
                    queue.append(there)
    return parents


def _downwards(link: DrawnLink | None, lower: int) -> DrawnLink | None:
    """Return a link with this end as its second."""
    if link is None or link.ends[1] == lower:
        return link
    return replace(link, ends=link.ends[::-1], ports=link.ports[::-1])


def _at_devices(report: Report) -> tuple[dict[str, _Marks], dict[str, list[TextLine]]]:
    """Return what is wrong at each device itself, and the Wi-Fi names it serves, each with how it fares."""
    services = report.services
    marks = {device.name: _Marks() for device in report.devices}
    audited = {device.name for device in report.devices if device.outcome == "audited"}
    served: dict[str, dict[str, list[TextLine]]] = {device.name: {} for device in report.devices}
    shown = _shown_on_links(services)
    aired = {(path.device, place) for path in services.paths if path.kind == "wifi" for place in path.places}
    for path in services.paths:
        if path.kind == "wifi" and path.device in served:
            for place in path.places:
                line = TextLine(sanitize(place), _TONES[path.state], str(path.vlan))
                served[path.device].setdefault(place, []).append(line)
        for fault in path.faults if path.state != "reached" else []:
            at = (fault.device, fault.place)
            if fault.device in marks and (*at, path.vlan) not in shown and at not in aired:
                broken = path.state == "broken" and fault.device in audited
                (marks[fault.device].faults if broken else marks[fault.device].unverified).add(path.vlan)
    for leak in services.leaks:
        if leak.device in marks and leak.kind == "wifi":
            lines = served[leak.device].setdefault(leak.place, [TextLine(sanitize(leak.place))])
            lines.append(TextLine(f"leaks: {leak.vlan}", "leaks"))
        elif leak.device in marks:
            marks[leak.device].leaks.add(leak.vlan)
    return marks, {name: [line for lines in places.values() for line in lines] for name, places in served.items()}


def _shown_on_links(services: Services) -> set[tuple[str, str, int]]:
    """Return (device, port, VLAN) of what the links themselves say: it needs no mark at the device."""
    shown = set()
    for link in services.links:
        told_there = link.planned if link.state == "unverified" else link.stopped
        shown |= {(*end, vlan) for end in link.ends for vlan in VlanSet.parse(told_there)}
    return shown


def _stub(link: DrawnLink, number: int, devices: list[DeviceReport]) -> TextLine:
    """Return a link beyond the tree as a line of the device it also reaches."""
    other = devices[link.ends[1] if link.ends[0] == number else link.ends[0]]
    tone = next((tone for tone in ("stops", "leaks", "unverified") if tone in link.tones), "also")
    return TextLine(f"also {sanitize(other.name)}: {'; '.join(line.text for line in link.lines)}", tone)


def in_words(line: TextLine) -> str:
    """Return a line in words, its state included."""
    state = {"good": "reached", "stops": "broken", "unverified": "unverified"}.get(line.tone, "")
    return f"Wi-Fi {line.text} (VLAN {line.right}) {state}" if line.right else line.text
