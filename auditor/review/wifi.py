"""Rules about Wi-Fi names: how they are protected, and where they lead."""

from __future__ import annotations

from auditor.passphrases import is_passphrase, planned_in
from auditor.review.rule import Found, Rule, Subject

_WEAK = {
    "open": "anyone can join and listen",
    "wep": "WEP is broken",
    "wpa-personal": "WPA alone is outdated",
    "wpa-enterprise": "WPA alone is outdated",
}


def _passphrases(subject: Subject) -> Found:
    for ssid, wifi in subject.plan.data.wifi.items():
        if wifi.passphrase is not None and not wifi.security.endswith("-personal"):
            yield ("wifi", ssid, "passphrase"), f"{wifi.security} has no passphrase"


def _lengths(subject: Subject) -> Found:
    for ssid, wifi in subject.plan.data.wifi.items():
        value = planned_in(subject.environment, wifi.passphrase.env) if wifi.passphrase else ""
        if value and not is_passphrase(value):
            text = "not a valid passphrase: use 8 to 63 printable ASCII characters, or 64 hexadecimal digits"
            yield ("wifi", ssid, "passphrase"), text


def _weak(subject: Subject) -> Found:
    for ssid, wifi in subject.plan.data.wifi.items():
        if wifi.security in _WEAK:
            yield ("wifi", ssid, "security"), f"{wifi.security}: {_WEAK[wifi.security]}"


def _guests(subject: Subject) -> Found:
    for ssid, wifi in subject.plan.data.wifi.items():
        guests = wifi.client_isolation or "guest" in ssid.lower() or "guest" in wifi.subnet.lower()
        if guests and not subject.subnets[wifi.subnet].isolated:
            yield (
                ("wifi", ssid, "subnet"),
                f"guests of {ssid!r} are in {wifi.subnet}, which is not isolated from the others",
            )


def _together(subject: Subject) -> Found:
    first: dict[str, str] = {}
    for ssid, wifi in subject.plan.data.wifi.items():
        other = first.setdefault(wifi.subnet, ssid)
        if wifi.client_isolation != subject.plan.data.wifi[other].client_isolation:
            yield (
                ("wifi", ssid, "subnet"),
                f"{ssid!r} and {other!r} share a subnet, and one of them is for guests",
            )


def _uplink(subject: Subject) -> Found:
    for ssid, wifi in subject.plan.data.wifi.items():
        vid = subject.subnets[wifi.subnet].vlan
        for index, device in enumerate(wifi.on):
            ports = [(device, name) for name in subject.expected[device].state.ports]
            if ports and not any(vid in subject.carried(port) for port in ports):
                yield (
                    ("wifi", ssid, "on", index),
                    f"{subject.name_of(vid)} is on no port of {device}: clients of {ssid!r} have no connection",
                )


RULES = (
    Rule(
        "passphrase-without-use",
        "error",
        "Only personal security has a passphrase.",
        "IEEE 802.11i-2004, annex H.4",
        _passphrases,
    ),
    Rule(
        "passphrase-length",
        "error",
        "A passphrase has 8 to 63 printable characters.",
        "IEEE 802.11i-2004, annex H.4.1",
        _lengths,
    ),
    Rule(
        "wifi-weak",
        "warning",
        "Wi-Fi is protected by WPA2 or better.",
        "IEEE 802.11-2020 deprecates WEP and TKIP",
        _weak,
    ),
    Rule("guests-not-isolated", "warning", "Guests are in an isolated subnet.", "common practice", _guests),
    Rule("staff-with-guests", "warning", "Staff and guests are in different subnets.", "common practice", _together),
    Rule(
        "wifi-without-uplink",
        "error",
        "The VLAN of a Wi-Fi name leaves its access point.",
        "IEEE 802.1Q: a VLAN ends where no port is a member",
        _uplink,
    ),
)
