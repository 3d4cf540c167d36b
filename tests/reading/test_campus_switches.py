"""What dialects of campus switches have beyond others: modes for phones, trunk groups, sections within sections."""

from __future__ import annotations

from typing import Any

import pytest

from auditor.areas import Reading
from auditor.platforms.definition import Platform
from auditor.platforms.names import names_of
from auditor.reading.words import Words
from tests.reading.texts import not_understood, reading_of, state_of


def eos(body: str) -> Reading:
    return reading_of("arista_eos", f"hostname sw\n{body}end\n")


def cx(body: str) -> Reading:
    return reading_of("aruba_aoscx", f"hostname sw\n{body}")


def understood(reading: Reading) -> dict[str, Any]:
    assert not_understood(reading) == []
    return state_of(reading)


@pytest.mark.parametrize(
    ("lines", "untagged", "voice"),
    [
        ("   switchport trunk native vlan 10\n   switchport phone vlan 20\n   switchport mode trunk phone\n", 10, 20),
        ("   switchport phone vlan 20\n   switchport mode trunk phone\n", 1, 20),
        ("   switchport trunk native vlan 10\n   switchport mode trunk phone\n", 10, None),
        ("   switchport access vlan 10\n   switchport phone vlan 20\n", 10, None),
    ],
)
def test_a_phone_vlan_counts_in_the_mode_for_phones(lines: str, untagged: int, voice: int | None):
    port = understood(eos(f"interface Ethernet1\n{lines}"))["ports"]["Ethernet1"]
    assert (port["mode"], port["untagged"], port["tagged"], port["voice"]) == (
        "access",
        untagged,
        "",
        voice,
    )


@pytest.mark.parametrize(("group", "tagged"), [("", "20"), ("LAB", "10,20"), ("TEST", "10,20"), ("OTHER", "20")])
def test_a_vlan_with_trunk_groups_is_carried_by_trunks_of_these_alone(group: str, tagged: str):
    vlans = "vlan 10\n   trunk group LAB\n   trunk group TEST\nvlan 20\n"
    mine = f"   switchport trunk group {group}\n" if group else ""
    trunk = f"interface Ethernet1\n   switchport mode trunk\n   switchport trunk allowed vlan 10,20\n{mine}"
    assert understood(eos(vlans + trunk))["ports"]["Ethernet1"]["tagged"] == tagged


@pytest.mark.parametrize(
    ("lines", "ways"),
    [
        ("", ["ssh"]),
        ("   no shutdown\n", ["https", "ssh"]),
        ("   protocol http\n   shutdown\n", ["ssh"]),
        ("   protocol http\n   no protocol https\n   no shutdown\n", ["http", "ssh"]),
        ("   shutdown\n   vrf A\n      no shutdown\n   vrf B\n      shutdown\n", ["https", "ssh"]),
    ],
)
def test_what_a_web_server_speaks_is_a_way_in_where_it_is_on(lines: str, ways: list[str]):
    assert understood(eos(f"management api http-commands\n{lines}"))["management"]["logins"] == ways


@pytest.mark.parametrize(
    ("lines", "mode"),
    [("", "routed"), ("    no routing\n", "access"), ("    routing\n", "routed"), ("    vlan access 10\n", "access")],
)
def test_a_line_may_say_no_more_than_that_a_port_switches(lines: str, mode: str):
    assert understood(cx(f"interface 1/1/1\n    no shutdown\n{lines}"))["ports"]["1/1/1"]["mode"] == mode


@pytest.mark.parametrize(("mark", "mode", "voice"), [("    voice\n", "access", 20), ("", "trunk", None)])
def test_a_marked_vlan_that_is_all_a_port_carries_tagged_is_its_voice_vlan(mark: str, mode: str, voice: int | None):
    port = "interface 1/1/1\n    vlan trunk native 10\n    vlan trunk allowed 10,20\n"
    found = understood(cx(f"vlan 10\nvlan 20\n{mark}{port}"))["ports"]["1/1/1"]
    assert (found["mode"], found["voice"]) == (mode, voice)


@pytest.mark.parametrize(
    ("told", "prefix"),
    [
        ("        range 10.0.4.50 10.0.4.60 prefix-len 23\n", "10.0.4.0/23"),
        ("        range 10.0.4.50 10.0.4.60\n", "10.0.4.0/22"),
        ("        static-bind ip 10.0.4.50 mac 00:00:5e:00:53:01\n", "10.0.4.0/22"),
        ("        default-router 10.0.4.1\n", "10.0.4.0/22"),
        ("        range 10.9.4.50 10.9.4.60\n", None),
        ("        domain-name shop.example\n", None),
    ],
)
def test_addresses_of_a_scope_tell_its_prefix(told: str, prefix: str | None):
    vlan = "interface vlan 4\n    ip address 10.0.4.1/22\n"
    state = understood(cx(f"{vlan}dhcp-server vrf default\n    pool a\n{told}        exit\n    enable\n"))
    assert list(state["dhcp"]) == ([prefix] if prefix else [])


def test_several_sections_within_one_keep_their_lines():
    pools = "".join(f"    pool p{n}\n        range 10.0.{n}.50 10.0.{n}.60 prefix-len 24\n" for n in range(1, 6))
    reading = cx(f"dhcp-server vrf default\n{pools}    enable\n    odd\n")
    assert list(state_of(reading)["dhcp"]) == [f"10.0.{n}.0/24" for n in range(1, 6)]
    assert not_understood(reading) == ["odd"]


def test_sections_may_stand_within_sections_within_a_section():
    reading = eos(
        "dhcp server\n   subnet 10.0.4.0/24\n      reservations\n"
        "         mac-address 0000.5e00.5301\n            ipv4-address 10.0.4.5\n            odd\n"
        "         mac-address 0000.5e00.5302\n            ipv4-address 10.0.4.6\n"
        "interface Vlan4\n   ip address 10.0.4.1/24\n   dhcp server ipv4\n"
    )
    (scope,) = state_of(reading)["dhcp"].values()
    assert scope["reservations"] == {"10.0.4.5": "00:00:5e:00:53:01", "10.0.4.6": "00:00:5e:00:53:02"}
    assert not_understood(reading) == ["odd"]


def test_what_follows_a_section_that_runs_away_stands_at_the_margin():
    handler = "event-handler h\n   trigger on-boot\n"
    lines = "vlan 10\n   name staff\n!\ninterface Ethernet1\n   switchport access vlan 10\n"
    swallowed = "".join(f"   {line}\n" for line in lines.splitlines())
    assert understood(eos(handler + swallowed)) == understood(eos(handler + lines))


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("mgmt", ["mgmt"]),
        ("lag 1", ["lag1"]),
        ("1/1/1-1/1/3", ["1/1/1", "1/1/2", "1/1/3"]),
        ("1/1/27:1", ["1/1/27:1"]),
        ("1/1/5.50", ["1/1/5.50"]),
    ],
)
def test_names_that_look_like_none(text: str, names: list[str]):
    assert names_of("aruba_aoscx").names(text) == names


@pytest.mark.parametrize("text", ["wlan", "1/1/", "1/1/3-1/1/1", "lag", "vlan 5000"])
def test_names_that_are_none(text: str):
    with pytest.raises(ValueError, match=r"name|range"):
        names_of("aruba_aoscx").names(text)


def test_our_word_may_hold_the_dialects():
    data = {"name": "invented", "about": "x", "commands": {}, "layout": "indented"}
    more = {"bridging": "access-and-trunk", "sections": [], "words": {"interface.bundle": {r"\d+": "po{}"}}}
    words = Words(Platform.model_validate({**data, **more}))
    assert words.translate("interface.bundle", "12") == "po12"
