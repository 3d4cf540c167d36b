"""What a finding does to whom: the first answer from the setting alone, refined by service paths and leaks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import TypeVar

from auditor.areas import room
from auditor.core.report import CONSEQUENCES, Concerned, Consequence, Finding
from auditor.core.service import Leak, ServicePath, Services
from auditor.core.state import Setting
from auditor.network.causes import with_causes

_NAMED = 3
"""How many places a sentence names; the rest is counted."""
T = TypeVar("T")


def explained(findings: Iterable[Finding], services: Services) -> list[Finding]:
    """Return findings with consequence, effect, whom they concern and their cause; exposure first, then outage.

    A consequence only ever gets worse by what the paths show: where they show nothing, the setting's own holds.
    """
    broken: dict[tuple[str, Setting], list[ServicePath]] = {}
    for path in services.paths:
        for place in dict.fromkeys((fault.device, setting) for fault in path.faults for setting in fault.settings):
            broken.setdefault(place, []).append(path)
    leaking: dict[tuple[str, Setting], list[Leak]] = {}
    for leak in services.leaks:
        for device, setting in leak.at:
            leaking.setdefault((device, setting), []).append(leak)
    findings = list(findings)
    off = {(f.device, f.place.item) for f in findings if f.field == "enabled" and f.expected}
    found = []
    for finding in findings:
        place = (finding.device, finding.place)
        served = [path for path in services.paths if room(finding.area).serves(finding.place, finding.device, path)]
        found.append(_explained(_first(finding, off), broken.get(place, []), leaking.get(place, []), served))
    return with_causes(sorted(found, key=lambda f: CONSEQUENCES.index(f.consequence)), services.links)


def _first(finding: Finding, off: set[tuple[str, Setting]]) -> Finding:
    """Return a finding with the consequence that its setting has by itself: nothing passes what is switched off."""
    passes = (finding.device, finding.place.item) not in off or not finding.field
    return (
        finding if passes or finding.consequence != "exposure" else finding.model_copy(update={"consequence": "outage"})
    )


def _explained(
    finding: Finding, paths: Sequence[ServicePath], leaks: Sequence[Leak], served: Sequence[ServicePath]
) -> Finding:
    beyond = [path for path in paths if not _is_own(finding, path)]
    out = [leak for leak in leaks if leak.kind != "device" and not _is_place(finding, leak.device, leak.place)]
    touched = paths or served
    ports = {(path.device, place) for path in touched if path.kind == "port" for place in _places(finding, path)}
    ports |= {(leak.device, leak.place) for leak in out if leak.kind == "port"}
    wifi = [f"{path.places[0]} on {path.device}" for path in touched if path.kind == "wifi"]
    wifi += [f"{leak.place} on {leak.device}" for leak in out if leak.kind == "wifi"]
    devices = _once(path.device for path in touched if path.kind == "device")
    concerned = Concerned(ports=len(ports), wifi=_once(wifi), devices=devices)
    consequence: Consequence = finding.consequence
    if out:
        consequence = "exposure"
    elif paths and consequence == "upkeep":
        consequence = "outage"
    effect = finding.effect
    if beyond and room(finding.area).tells_who_loses:
        managed = [f"the management of {path.device}" for path in beyond if path.kind == "device"]
        effect = f"{effect}; affected: {_listed(_who(beyond) + managed)}"
    elif beyond:
        effect = f"{_affected(beyond)}: {effect}"
    if out:
        effect = f"{effect}; {_reaching(out)}"
    update = {"consequence": consequence, "effect": effect, "concerned": concerned}
    return finding.model_copy(update=update)


def _is_own(finding: Finding, path: ServicePath) -> bool:
    """Return whether a path is that of the finding's own port, Wi-Fi name or address."""
    if path.kind == "device":
        return room(finding.area).tells_who_loses and path.device == finding.device
    return any(_is_place(finding, path.device, place) for place in path.places)


def _is_place(finding: Finding, device: str, place: str) -> bool:
    return finding.device == device and bool(place) and finding.key == place


def _places(finding: Finding, path: ServicePath) -> list[str]:
    """Return the ports of a path that a finding concerns: its own alone, or all."""
    return [place for place in path.places if _is_place(finding, path.device, place)] or path.places


def _once(texts: Iterable[T]) -> list[T]:
    return list(dict.fromkeys(texts))


def _affected(paths: Sequence[ServicePath]) -> str:
    """Say who loses what, one clause each."""
    served = [path for path in paths if path.kind != "device"]
    parts = []
    for dhcp in (True, False):
        who = _who([path for path in served if (path.dhcp is not None) is dhcp])
        if who:
            one = len(who) == 1 and (who[0].startswith("1 port ") or not who[0][0].isdigit())
            does = ("gets" if one else "get") if dhcp else ("does not reach" if one else "do not reach")
            parts.append(f"{_listed(who)} {does} {'no address' if dhcp else 'the gateway'}")
    devices = _once(path.device for path in paths if path.kind == "device")
    if devices:
        parts.append(f"{_listed(devices)} cannot be reached for management")
    return ", ".join(parts)


def _who(paths: Sequence[ServicePath]) -> list[str]:
    """Name those concerned: Wi-Fi names by where they are aired, ports by how many there are of a subnet."""
    aired: dict[str, list[str]] = {}
    ports: Counter[tuple[str, str]] = Counter()
    for path in paths:
        if path.kind == "wifi":
            aired.setdefault(path.places[0], []).append(path.device)
        elif path.kind == "port":
            ports[path.device, path.subnet] += len(path.places)
    named = [f"{ssid} on {_listed(_once(devices))}" for ssid, devices in aired.items()]
    return named + [
        f"{'1 port' if number == 1 else f'{number} ports'} of {device} ({subnet})"
        for (device, subnet), number in ports.items()
    ]


def _listed(texts: Sequence[str]) -> str:
    """Return names as a list in a sentence, those beyond the first few counted."""
    shown = list(texts[:_NAMED]) if len(texts) > _NAMED + 1 else list(texts)
    more = len(texts) - len(shown)
    if more:
        shown.append(f"{more} more")
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def _reaching(leaks: Sequence[Leak]) -> str:
    nets = _once(f"{leak.subnet} (VLAN {leak.vlan})" for leak in leaks)
    places = _once(
        f"{leak.device} {leak.place}" if leak.kind == "port" else f"{leak.place} on {leak.device}" for leak in leaks
    )
    return f"{_listed(nets)} {'reaches' if len(nets) == 1 else 'reach'} {_listed(places)}"
