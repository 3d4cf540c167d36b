"""A line that is forgotten in expected.cfg.j2 breaks the law, so that it can never pass for conforming.

Each line that writes something is left out, one at a time, and some generated state must come back as another. Lines
without effect on any audited setting are listed here, with the reason why a device prints them all the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings

from auditor.areas import read
from auditor.core.state import DeviceState
from auditor.errors import RenderError
from auditor.platforms import catalogue
from auditor.platforms import render as rendering
from auditor.platforms.render import TEMPLATE, render
from auditor.reading.source import CaptureFile
from tests.effort import share
from tests.platforms.states import Profile, profiles, states

STATES = 80
"""How many states of each profile are tried."""
LAYOUT = r"[!#;/].*|exit|end|next|(package|config) \S+( '?\w+'?)?|\{\{ \"no shutdown\".*|no ip address|vlan database"
"""What divides or opens: comments, ends of blocks, headers whose lines say it all, and what is so without saying."""
SAME = "the value is the default, or another line says it already"
APART = "it says how the device works, not what is audited"
ELSEWHERE = "it is tried elsewhere"
UNREAD: dict[str, dict[str, str]] = {
    "arista_eos": {"ip routing": SAME, "switchport phone trunk tagged": SAME, "reservations": APART},
    "aruba_aoscx": {"no routing": SAME, "routing": SAME},
    "cisco_ios": {
        "vtp mode transparent": APART,
        "authentication open eap eap_methods": SAME,
        "authentication open": SAME,
        "bridge irb": APART,
        "station-role root": APART,
        "bridge-group {{ 1 if native else wifi.vlan }}": SAME,
        "bridge-group {{ 1 if vid == port.untagged else vid }}": SAME,
        "switchport mode access": SAME,
        "interface BVI1": SAME,
        "no shutdown": SAME,
        "ip routing": SAME,
    },
    "cisco_s300": {
        "clock source sntp": APART,
        "sntp unicast client enable": APART,
        "sntp unicast client poll": APART,
        "switchport mode access": SAME,
    },
    "fortinet": {
        "set mode dhcp": ELSEWHERE,  # a leased address of a VLAN is never planned
        "set secondary-IP enable": SAME,
        'set admin-telnet {{ "enable" if "telnet" in ways else "disable" }}': SAME,
        "set type physical": SAME,
        "set admin enable": SAME,  # of access points, unless it says otherwise
        "set type hard-switch": SAME,
        'set name "<community>"': APART,
        'set interface {{ q(at.get(interface_of(state, prefix)[4:] | int, "none")) }}': SAME,
        'set passphrase {{ q(passphrases.get(ssid, "<passphrase>")) }}': ELSEWHERE,
    },
    "hp_procurve": {"vrrp vrid {{ loop.index }}": SAME},
    "juniper_junos": {
        "device-count {{ bundled.count }};": SAME,
        "system-generated-certificate;": APART,
        "any notice;": APART,
        "encapsulation ppp-over-ether;": SAME,
        "family inet;": SAME,
        "client;": SAME,
        "negotiate-address;": SAME,
        "authorization read-only;": APART,
        "network {{ prefix }};": SAME,
    },
    "mikrotik_routeros": {"add name=bridge vlan-filtering=yes": ELSEWHERE},
    "openwrt": {
        "option device 'lo'": APART,
        "option proto 'static'": SAME,
        "list ipaddr '127.0.0.1/8'": APART,
        "list ports {{ q(name) }}": SAME,
        "option name {{ q(name) }}": SAME,
        "option local '0'": SAME,
        "option proto 'none'": SAME,
        "option type 'mac80211'": APART,
        "option mode 'ap'": SAME,
        'option key {{ q(passphrases.get(ssid, "<passphrase>")) }}': ELSEWHERE,
    },
    "ubiquiti_edgerouter": {"authorization ro": APART, "level info": APART},
    "vyos": {
        "vrid {{ vid % 255 + 1 }}": APART,
        "{{ addresses(gateway) -}}": ELSEWHERE,  # VLAN 1: tests/compare/test_vlan_one.py
        "subnet-id {{ loop.index }}": APART,
        "authorization ro": APART,
        "level info": APART,
    },
}
"""Lines that the law does not notice, and why; common practice and the dialects' handbooks, from memory."""


def _statements(text: str) -> Iterator[tuple[int, int]]:
    """Yield where each statement that writes something begins and ends, in lines; loops and conditions are none."""
    lines, at = text.splitlines(), 0
    while at < len(lines):
        end, piece = at + 1, lines[at]
        while any(piece.count("{" + sign) > piece.count(sign + "}") for sign in "%#") or (
            piece.count("{{") > piece.count("}}")
        ):
            piece += "\n" + lines[end]
            end += 1
        whole = all(
            len(re.findall(rf"{{%-? *{word}\b", piece)) == len(re.findall(rf"{{%-? *end{word}\b", piece))
            for word in ("for", "if", "macro")
        )
        if whole and piece.strip() and not re.fullmatch(r"\s*(\{%[^%]*%\}|\{#.*#\})\s*", piece, re.DOTALL):
            yield at, end
        at = end


def _drawn(profile: Profile) -> list[DeviceState]:
    drawn: list[DeviceState] = []

    @settings(max_examples=STATES, suppress_health_check=list(HealthCheck), derandomize=True, database=None)
    @given(states(profile))
    def collect(state: DeviceState) -> None:
        drawn.append(state)

    collect()
    return drawn


@cache
def _states(name: str) -> list[tuple[DeviceState, str]]:
    """Return states that a platform's profiles can carry, the richest first, with the role of each."""
    found = [(state, p["role"]) for platform, p in profiles() if platform == name for state in _drawn(p)]
    return sorted(found, key=lambda each: len(str(each[0])), reverse=True)


def _holds(name: str, state: DeviceState, role: str) -> bool:
    """Return whether the law holds for a state."""
    try:
        text = render(name, state, role, dict.fromkeys(state.ssids, "not a secret"))
    except RenderError:
        return False
    reading = read(name, [CaptureFile("running.cfg", text.encode())])
    understood = not reading.problem and not reading.quoted_not_understood()
    return understood and reading.state == state and (reading.routing or len(state.gateways) < 2)


def _unnoticed(name: str, text: str, monkeypatch: pytest.MonkeyPatch) -> bool:
    """Return whether the law holds for all states with another text as the template."""
    original = catalogue.template_text
    rendering._environment.cache_clear()
    with monkeypatch.context() as patch:
        patch.setattr(rendering, "template_text", lambda *a: text if a == (name, TEMPLATE) else original(*a))
        held = all(_holds(name, state, role) for state, role in _states(name))
    rendering._environment.cache_clear()
    return held


def _listed(name: str, statement: str) -> bool:
    return bool(re.fullmatch(LAYOUT, statement.strip())) or statement.strip() in UNREAD.get(name, ())


@pytest.mark.parametrize("name", catalogue.names())
def test_a_line_that_is_forgotten_breaks_the_law(name: str, monkeypatch: pytest.MonkeyPatch):
    lines = catalogue.template_text(name, TEMPLATE).splitlines()
    pieces = {(first, last): "\n".join(lines[first:last]) for first, last in _statements("\n".join(lines))}
    to_try = [where for where, piece in pieces.items() if not _listed(name, piece)]
    tried = share(to_try, lambda where: f"{name} {pieces[where]} {where}", quick=6, ci=2)
    unnoticed = [
        f"{first + 1}: {pieces[first, last]}"
        for first, last in tried
        if _unnoticed(name, "\n".join(lines[:first] + lines[last:]) + "\n", monkeypatch)
    ]
    assert unnoticed == []


@pytest.mark.parametrize("name", UNREAD)
def test_no_line_is_listed_that_is_not_there(name: str):
    text = catalogue.template_text(name, TEMPLATE)
    assert [line for line in UNREAD[name] if line not in text] == []
