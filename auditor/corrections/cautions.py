"""What to mind before a proposal is carried out, and the order that keeps a way in open; all wording of it is here.

Chosen from general facts: which VLAN a device is managed in, which ports are ends of planned links, what is untagged.
All of it is common practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from ipaddress import IPv4Interface
from typing import Any, NamedTuple

from auditor.core.domains import Domain, numbers, unnumbered
from auditor.core.values import VlanSet
from auditor.corrections.change import Change, carried, gone_addresses
from auditor.corrections.position import Position
from auditor.plan.loader import Plan
from auditor.platforms.definition import Platform

GENERAL = (
    "This is a proposal, made from the plan and this capture alone; nothing of it was sent. Have it reviewed by "
    "someone who knows the device and the site, keep the running configuration first, have another way in, and agree "
    "a time with those who depend on it."
)
WORDS = {
    "management": (
        "{vlan} is the one in which {device} is reached at {address}: a slip here cuts you off. Work from its console, "
        "or with someone beside it, not over this VLAN alone."
    ),
    "towards": (
        "{port} leads towards {gateway}, by way of {peer}: while it is changed, {device} and all behind it may be cut "
        "off. Where both ends change and you come from {gateway}, change {device} first and {peer} last."
    ),
    "away": (
        "{port} leads to {peer}: whatever is behind it depends on it. Where both ends change and you come from the "
        "side of {device}, change {peer} first and {port} last, or you will not reach {peer} any more."
    ),
    "link": (
        "{port} is one end of the link to {peer}. Where both ends change, change first the end that is farther from "
        "you, and last the one that is nearer."
    ),
    "native": (
        "What travels untagged on {port} changes. Until both ends agree, untagged frames change their VLAN on the way, "
        "and spanning tree may block the port: change the far end first, the near one right after it, and look at the "
        "native VLAN of both."
    ),
    "removes": (
        "After this, {port} no longer carries {vlans}: make sure that nothing which is in use depends on that before "
        "you change it."
    ),
    "off": "{port} is switched off: check first what is connected to it, and never switch off the port you came by.",
    "vlan gone": "Ports that are still in {vlan} lose their connection when it is deleted: look for them first.",
    "login off": (
        "A way to log in is switched off: log in by one that stays open in a second session first, and keep the first "
        "session until the second one works."
    ),
    "login on": "A way to log in is opened: check that only those who should can reach it before you switch it on.",
    "own address": (
        "The address by which {device} is reached changes: your session ends with the command. Enter it last, then "
        "come back by {address}; for a moment nobody else answers there."
    ),
    "address gone": (
        "An address of {device} goes, and {device} may be managed by it, whatever the plan says: look by which address "
        "you came, and see that the new one answers first."
    ),
    "apart": (
        "{vlan} is to be kept apart from the others: whatever filtered between them, as access lists and zones do, is "
        "not part of this proposal. Look whether it is there, and put it on first."
    ),
    "filters": (
        "The interface of {vlan} comes into being or comes back: its filters, address translation and zones are no "
        "part of this proposal. Look whether they are there."
    ),
    "gateway": (
        "Terminals in {vlan} are without their gateway until the address is right, and may hold the old hardware "
        "address for minutes. Do it at an agreed time; where they get their gateway by DHCP, put the scope right first."
    ),
    "uplink": (
        "The site is off the carrier's network while this is entered: who works from outside is cut off, for good if "
        "it is wrong. Work from inside, or have someone there."
    ),
    "dhcp": "Terminals keep their settings until they renew their lease: only then is it in force everywhere.",
    "second server": "Make sure that another server answers in {key} before this one is taken away, if one should.",
    "wifi": "Clients lose the radio for a moment; those set up for the old settings do not come back by themselves.",
    "hostname": "Make sure that this is the capture of {device} and of no other device before you rename anything.",
    "gap": (
        "Put the real value in place of what stands in angle brackets, on the device and nowhere else: the report "
        "never holds it."
    ),
    "whole": "This switches a service of the whole device: audit again to see that all it brings back is as planned.",
}


CUTTING = (
    "management", "towards", "away", "link", "native", "login off", "own address", "address gone", "gateway", "uplink",
)  # fmt: skip
"""What can cut off the site or the person working on it: here the dialect's own safety net belongs."""


class _Caution(NamedTuple):
    name: str
    text: str


class Cautions:
    """Chooses the cautions of one device's corrections."""

    def __init__(self, plan: Plan, position: Position, platform: Platform) -> None:
        self._plan = plan
        self._position = position
        self._device = position.device
        self._platform = platform
        self._address = position.address

    def of(self, changes: list[Change], commands: list[str], asked: Iterable[str]) -> tuple[list[str], list[str]]:
        """Return the cautions of some commands, and what holds for all; the safety net where they may cut.

        Args:
            changes: all that the commands bring about.
            commands: the commands and their undo.
            asked: cautions by their name, beside those that follow from the changes.
        """
        special = [caution for change in changes for caution in self._special(change)]
        special.sort(key=lambda caution: caution.name != "apart")
        special += [self._say(name) for name in asked]
        if any(re.search(r"<[a-z][a-z ]*>", line) for line in commands):
            special.append(self._say("gap"))
        rules = self._platform.correction
        net = rules.safety_net if any(caution.name in CUTTING for caution in special) else ""
        always = [text for text in (GENERAL, net, rules.lasts) if text]
        return list(dict.fromkeys(caution.text for caution in special)), always

    def _say(self, name: str, **values: object) -> _Caution:
        text = WORDS[name].format(device=self._device, gateway=self._position.gateway, address=self._address, **values)
        return _Caution(name, text)

    def _special(self, change: Change) -> list[_Caution]:
        match change.setting.area:
            case "ports":
                return self._port(change)
            case "vlans":
                gone = [self._say("vlan gone", vlan=self._net(change.key))] if change.item is None else []
                return [*self._managed([change.key]), *gone]
            case "gateways":
                return self._gateway_address(change)
            case "dhcp":
                gone = [self._say("second server", key=change.key)] if change.item is None else []
                return [*gone, self._say("dhcp")]
            case "ssids":
                return [self._say("wifi")]
            case "uplinks":
                return [self._say("uplink")]
            case "hostname":
                return [self._say("hostname")]
        return self._logins(change) if change.setting.field == "logins" else []

    def _port(self, change: Change) -> list[_Caution]:
        before, item, name = change.before, change.item, str(change.key)
        here = f"{self._device} {name}"
        old, new = carried(before), carried(item)
        touched = (old ^ new) | ({before.untagged, item.untagged} - {None} if _native(change) else set())
        switched = before.enabled != item.enabled
        found = self._managed(old | new if switched else touched)
        if touched or switched or before.mode != item.mode:
            found += self._link(name, here)
        if _native(change) and "trunk" in (before.mode, item.mode):
            found.append(self._say("native", port=here))
        if old - new and item.enabled:
            found.append(self._say("removes", port=here, vlans=self._nets(old - new)))
        if switched and not item.enabled:
            found.append(self._say("off", port=here))
        return found

    def _link(self, name: str, here: str) -> list[_Caution]:
        peer = self._position.peer(name)
        if peer is None:
            planned = self._plan.ports[self._device].get(name)
            return [self._say("uplink")] if planned is not None and planned.uplink else []
        return [self._say(self._position.leads(name), port=here, peer=" ".join(peer))]

    def _managed(self, vids: Iterable[Any]) -> list[_Caution]:
        if self._position.managed_in is None or self._position.managed_in not in vids:
            return []
        return [self._say("management", vlan=self._net(self._position.managed_in))]

    def _gateway_address(self, change: Change) -> list[_Caution]:
        addresses = {*_addresses(change.before)} ^ {*_addresses(change.item)}
        if change.setting.field == "relay_to":
            return [self._say("dhcp")]
        own = any(IPv4Interface(a).ip == self._address for a in addresses if a != "dhcp")
        subnet = self._plan.subnet_of(change.key)
        routed = subnet is not None and self._plan.gateway_of(subnet[1]) == self._device
        found = self._managed([change.key])
        if own:
            found.append(self._say("own address"))
        if gone_addresses(change):
            found.append(self._say("address gone"))
        if change.before is None:
            kind = "apart" if subnet is not None and subnet[1].isolated else "filters"
            found.append(self._say(kind, vlan=self._net(change.key)))
        if routed:
            found.append(self._say("gateway", vlan=self._net(change.key)))
        return found

    def _logins(self, change: Change) -> list[_Caution]:
        before, after = set(change.before.logins or ()), set(change.item.logins or ())
        changed = (("login off", before - after), ("login on", after - before))
        return [self._say(name) for name, ways in changed if ways]

    def _net(self, vid: int) -> str:
        found = self._plan.subnet_of(vid)
        return f"{found[0]} (VLAN {vid})" if found else f"VLAN {vid}"

    def _nets(self, vids: set[Domain]) -> str:
        """Return planned subnets by their names, all other VLANs in list notation, and bridges without a number."""
        planned = sorted(vid for vid in numbers(vids) if self._plan.subnet_of(vid))
        others = VlanSet(numbers(vids) - set(planned))
        return ", ".join([*map(self._net, planned), *([f"VLAN {others}"] if others else []), *unnumbered(vids)])


def _native(change: Change) -> bool:
    return bool(change.before.untagged != change.item.untagged)


def _addresses(gateway: Any) -> tuple[str, ...]:
    return (*gateway.addresses, *gateway.shared_addresses) if gateway is not None else ()
