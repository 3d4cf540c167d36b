"""What pieces ask: where a value stands that a profile may hold, and which ports a VLAN's right number settles."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from auditor.areas.block import Block
from auditor.core.state import DeviceState, Port
from auditor.corrections.facts import Facts
from auditor.corrections.statements import Statements

WIFI = [
    ("/interface wifi configuration add", "name=cfg ssid=House security=sec"),
    ("/interface wifi security add", "name=sec passphrase=told"),
    ("/interface wifi add", "name=wifi1 configuration=cfg datapath.vlan-id=7"),
    ("/interface wifi add", "name=wifi2 configuration=cfg .ssid=Own"),
    ("/interface wifi add", "name=wifi3 configuration=cfg"),
    ("/interface wireless set", "[ find default-name=wlan1 ] ssid=Old"),
]


def asked() -> dict[str, Any]:
    blocks = [Block(header, "gw1.rsc", number, [line], number) for number, (header, line) in enumerate(WIFI)]
    known = {"whole": "configuration", "without": "/interface wireless"}
    return Statements(blocks, undoing=False, known_by={}, profiles=known).values()


@pytest.mark.parametrize(
    ("interface", "kind", "word", "header", "name", "value"),
    [
        ("wifi1", "datapath", "vlan-id", "/interface wifi add", "datapath.vlan-id", "7"),
        ("wifi1", "security", "passphrase", "/interface wifi security add", "passphrase", "told"),
        ("wifi1", "configuration", "ssid", "/interface wifi configuration add", "ssid", "House"),
        ("wifi1", "configuration", "hide-ssid", "/interface wifi configuration add", "hide-ssid", ""),
        ("wifi2", "configuration", "ssid", "/interface wifi add", "configuration.ssid", "Own"),
        ("wifi3", "datapath", "vlan-id", "/interface wifi add", "datapath.vlan-id", ""),
        ("wlan1", "configuration", "ssid", "/interface wireless set", "ssid", "Old"),
    ],
)
def test_a_value_stands_in_the_interface_or_in_the_profile_that_it_names(interface, kind, word, header, name, value):
    names = asked()
    (row,) = names["named"]("/interface (wifi|wireless) (add|set)", interface)
    place, said = names["holder"](row, kind, word)
    assert (place.header, said, names["held"](row, kind, word)) == (header, name, value)


def test_interfaces_share_a_place_and_are_found_by_their_value():
    names = asked()
    radios = names["rows"]("/interface (wifi|wireless) (add|set)")
    assert len(names["holders"](radios, "configuration", "ssid")) == 3
    found = names["by_held"](radios, "configuration", "ssid")
    assert {value: len(rows) for value, rows in found.items()} == {"House": 2, "Own": 1, "Old": 1}


def test_ports_are_right_once_a_vlan_has_its_number_and_another_one_that_looks_like_it_stays():
    now = {
        "1": Port(mode="trunk", untagged=1, tagged=(2, 11)),
        "2": Port(mode="trunk", untagged=4, tagged=(2, 11)),
        "3": Port(mode="access", untagged=1),
    }
    planned = {
        "1": Port(mode="trunk", untagged=3, tagged=(2, 11)),
        "2": Port(mode="trunk", untagged=5, tagged=(2, 11)),
        "3": Port(mode="access", untagged=9),
    }
    nobody: Any = SimpleNamespace()
    facts = Facts(nobody, DeviceState(ports=now), DeviceState(ports=planned), nobody)
    assert facts.ports_renumbered(1, 3) == ["1"]
    assert facts.ports_renumbered(1, 3, "tagged") == ["1", "2", "3"]
    assert facts.ports_renumbered(1, 9, "untagged") == ["3"]
    assert facts.carriers(facts.captured, 1) == ["1", "3"]
