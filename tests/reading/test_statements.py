"""Statements of an export: wrapped lines, quotes, escapes, selections, relative keys, and where each value stood."""

from __future__ import annotations

import pytest

from auditor.core.state import Setting
from tests.reading.texts import kinds, not_understood, reading_of, routeros, state_of

PORT = "/interface ethernet\nset [ find default-name=ether1 ] "


def described(text: str) -> tuple[str | None, bool]:
    """Return description and state of ether1."""
    reading = routeros(text)
    assert not_understood(reading) == []
    port = state_of(reading)["ports"]["ether1"]
    return port["description"], port["enabled"]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("plain", "plain"),
        ('"two words"', "two words"),
        ('"a \\"quoted\\" word"', 'a "quoted" word'),
        ('"back\\\\slash"', "back\\slash"),
        ('"5 \\$ and 100\\3D"', "5 $ and 100="),
        ('"caf\\C3\\A9"', "café"),
        ('"\\E9t\\E9"', "été"),
        ('"ends in a backslash \\\\"', "ends in a backslash \\"),
        ('"what\\? no # comment; no end"', "what? no # comment; no end"),
        ('"/ip pool add name=x"', "/ip pool add name=x"),
        ("Loft->Yard", "Loft->Yard"),
        ("<every-stall>", "<every-stall>"),
        ('"a=b c=d disabled=yes"', "a=b c=d disabled=yes"),
        ('"[ find default-name=ether9 ]"', "[ find default-name=ether9 ]"),
        ('"grün — 中"', "grün — 中"),
        ('"wrapped in a wo\\\n    rd"', "wrapped in a word"),
        ('"wrapped at a blank\\\n    \\_here"', "wrapped at a blank here"),
        ('"wrapped \\\n    after a blank"', "wrapped after a blank"),
        ('\\\n    "wrapped before"', "wrapped before"),
        ('"thr\\\n    ee tim\\\n    es"', "three times"),
        ('"keeps\\\n      two blanks"', "keeps  two blanks"),
    ],
)
@pytest.mark.parametrize("end", [" disabled=yes", " \\\n    disabled=yes", " disabled=\\\n    yes"])
def test_a_value_is_what_was_meant(written: str, meant: str, end: str):
    assert described(f"{PORT}comment={written}{end}") == (meant, False)


@pytest.mark.parametrize(
    "text",
    [
        "/interface vlan\nadd interface=ether1 name=v vlan-id=5",
        "/interface vlan add interface=ether1 name=v vlan-id=5",
        "/interface/vlan/add interface=ether1 name=v vlan-id=5",
        "/interface/vlan add interface=ether1 name=v vlan-id=5",
        "/interface\nvlan\nadd interface=ether1 name=v vlan-id=5",
        "  /interface vlan  \n   add   interface=ether1  name=v    vlan-id=5   ",
        "/interface vlan\nadd interface=\\\n    ether1 name=\\\n    v vlan-id=\\\n    5",
        "/ip pool\n/interface vlan\n# a remark\nadd vlan-id=5 name=v interface=ether1",
        "[admin@gw] > export\n/interface vlan\nadd interface=ether1 name=v vlan-id=5\n[admin@gw] > ",
    ],
)
def test_a_path_and_its_command_may_stand_in_many_ways(text: str):
    reading = routeros(text)
    assert state_of(reading)["ports"]["ether1"]["tagged"] == "5"
    assert not_understood(reading) == []


def test_sections_of_one_path_add_up():
    text = (
        "/interface vlan\nadd interface=ether1 name=a vlan-id=5\n/ip dns\nset servers=192.0.2.1\n"
        "/interface vlan\nadd interface=ether1 name=b vlan-id=6"
    )
    assert state_of(routeros(text))["ports"]["ether1"]["tagged"] == "5-6"


@pytest.mark.parametrize(
    ("selection", "name"),
    [
        ("[ find default-name=ether1 ]", "ether1"),
        ("[find default-name=ether1]", "ether1"),
        ('[ find default-name="ether 1" ]', "ether 1"),
        ("[ find default-name=ether1 ] name=uplink", "uplink"),
        ('[ find default-name=ether1 ] name="to the barn"', "to the barn"),
        ("ether1", "ether1"),
        ('"ether1"', "ether1"),
        ("[ find name=ether1 ]", "ether1"),
        ("[find where name=ether1]", "ether1"),
        ("numbers=ether1", "ether1"),
        ("0 name=ether1", "ether1"),
        ("*2 name=ether1", "ether1"),
    ],
)
def test_a_selection_finds_a_port_and_may_rename_it(selection: str, name: str):
    reading = routeros(f"/interface ethernet\nset {selection} comment=x")
    assert {n: port["description"] for n, port in state_of(reading)["ports"].items()} == {name: "x"}


def test_later_lines_know_a_renamed_port_by_its_new_name():
    reading = routeros(
        "/interface ethernet\nset [ find default-name=sfp28-2 ] name=vlan-mgmt comment=up\n"
        "/interface bridge\nadd name=b vlan-filtering=yes\n"
        "/interface bridge port\nadd bridge=b interface=vlan-mgmt pvid=7"
    )
    assert state_of(reading)["ports"]["vlan-mgmt"]["untagged"] == 7
    assert reading.born_as == {"sfp28-2": "vlan-mgmt"}


@pytest.mark.parametrize(
    "keys",
    [
        'configuration.mode=ap configuration.ssid="My Net" configuration.hide-ssid=yes datapath.vlan-id=7',
        'configuration.mode=ap .ssid="My Net" .hide-ssid=yes datapath.vlan-id=7',
        'configuration.country="United Kingdom" .mode=ap .hide-ssid=yes .ssid="My Net" datapath.vlan-id=7 .bridge=b',
        'datapath.bridge=b .vlan-id=7 configuration.mode=ap .ssid="My Net" disabled=no .hide-ssid=yes',
        'configuration.mode=ap .ssid=\\\n    "My Net" \\\n    .hide-ssid=yes datapath.vlan-id=7',
    ],
)
def test_a_relative_key_takes_over_the_prefix_before_it(keys: str):
    bridge = "/interface bridge\nadd name=b\n"
    reading = routeros(f"{bridge}/interface wifi\nset [ find default-name=wifi1 ] disabled=no {keys}")
    ssid = state_of(reading)["ssids"]["My Net"]
    assert (ssid["vlan"], ssid["hidden"]) == (7, True)
    assert not_understood(reading) == []


AFTER = "/interface vlan\nadd interface=ether1 name=a vlan-id=5\nadd interface=ether1 name={name} vlan-id=6"


@pytest.mark.parametrize("name", ["b", '"b"', '"b c"'])
@pytest.mark.parametrize("broken", ['comment="never closed', 'comment=5" disabled=no', 'comment="a" b"'])
def test_an_unclosed_quote_swallows_no_other_statement(name: str, broken: str):
    reading = routeros(f"{PORT}{broken}\n{AFTER.format(name=name)}")
    assert state_of(reading)["ports"]["ether1"]["tagged"] == "5-6"
    assert not reading.complete


def test_two_unclosed_quotes_swallow_nothing_between_them():
    reading = routeros(f'{PORT}comment="one\n{AFTER.format(name="b")}\n/ip pool\nadd comment="two name=p')
    assert state_of(reading)["ports"]["ether1"]["tagged"] == "5-6"
    assert not reading.complete


SCRIPT = (
    '/ip dhcp-server\nadd interface=b lease-script=":put \\"stall \\$leaseSer\\\n    verName\\";\\r\\\n'
    '    \\n/interface vlan add interface=ether1 name=bait vlan-id=666\\r\\\n    \\n" name=d\n'
)


def test_a_script_within_a_value_is_no_configuration():
    reading = routeros(f"{SCRIPT}/interface vlan\nadd interface=ether1 name=v vlan-id=5")
    assert state_of(reading)["ports"]["ether1"]["tagged"] == "5"
    assert not reading.problem


@pytest.mark.parametrize(
    "line",
    [
        ":local x 1",
        ':put "hello"',
        "/interface bridge port remove [find interface=ether1]",
        '/ip pool add name=p ranges=($first."-".$last)',
        "/interface vlan add interface=$port name=v vlan-id=5",
        "/interface vlan remove [ find name=v ]",
        "remove [ find ]",
        "/interface/vlan/remove v",
        "/import file-name=more.rsc",
        "import more.rsc",
        "/interface ethernet set [ /interface ethernet find name=ether1 ] disabled=yes",
        "/interface ethernet set ether1 comment=[:pick $x 0 3]",
        "/system scheduler add name=x on-event={",
        "{",
        "/interface vlan add interface=ether1 name=v vlan-id=5; add interface=ether1 name=w vlan-id=6",
        "}",
    ],
)
def test_a_script_is_refused(line: str):
    reading = routeros(f"/interface vlan\nadd interface=ether1 name=z vlan-id=9\n{line}")
    assert "script" in reading.problem
    assert not reading.complete


def test_exports_hold_selections_in_many_menus():
    """Menus of exports of RouterOS 6 and 7 as people published them; see fixtures/platforms/…/many_selections, too."""
    for line in (
        "/interface lte set [ find ] mtu=1500 name=lte1",
        "/system console set [ find ] disabled=yes",
        "/interface ethernet poe set [ find ] poe-out=off",
        "/interface list set [ find name=all ] name=all",
        "/snmp community set [ find default=yes ] addresses=::/0",
        "/ppp profile set *FFFFFFFE use-upnp=no",
        "/queue type set 0 kind=pfifo",
        "/routing bgp peer add name=p remote-as=65001 remove-private-as=yes",
        "/ip firewall filter add action=drop chain=input comment=remove",
        "/ipv6 address add address=::1 interface=lo comment=[::1]",
        "/user set [ find name=remove ] group=read",
    ):
        reading = routeros(f"/interface vlan\nadd interface=ether1 name=z vlan-id=9\n{line}")
        assert not reading.problem, line
        assert kinds(reading)[-1] in ("outside", "harmless"), line


def test_what_an_audited_line_is_about_must_be_plain():
    """A selection that may be of several items, or of nobody knows which, is not understood and never a script."""
    for line in (
        "/interface ethernet set [ find ] disabled=yes",
        "/interface ethernet set [find] disabled=yes",
        '/interface ethernet set [ find where name~"ether[12]" ] disabled=yes',
        "/interface ethernet set [ find name!=ether1 ] disabled=yes",
        "/interface ethernet set [ find name=ether1 or name=ether2 ] disabled=yes",
        "/interface ethernet set [ find name=ether1 name=ether2 ] disabled=yes",
        "/interface ethernet set [ find (name=ether1) ] disabled=yes",
        "/interface ethernet set [ find name=ether1 && disabled=no ] disabled=yes",
        "/interface ethernet set [ find name=ether1,ether2 ] disabled=yes",
        "/interface ethernet set [ find comment=desk ] disabled=yes",
        "/interface ethernet set [ get ether1 ] disabled=yes",
        "/interface ethernet set numbers=[ find name=ether1 ] disabled=yes",
        "/interface ethernet set 0 disabled=yes",
        "/interface ethernet set *1 disabled=yes",
        "/interface ethernet set numbers=0 disabled=yes",
        "/interface ethernet set ether1,ether2 disabled=yes",
        "/interface set ether1 disabled=yes",
        "/interface disable ether1",
        "/interface bridge set [ find ] vlan-filtering=no",
        "/interface bridge set 0 vlan-filtering=no",
        "/interface bridge port set [ find interface=ether1 ] pvid=20",
        "/interface vlan set [ find vlan-id=9 ] disabled=yes",
        "/interface wireless set [ find ] disabled=yes",
        "/interface wireless security-profiles set [ find ] mode=none",
        "/interface wireless security-profiles set [ find disabled=yes ] mode=none",
        "/interface wifi set [ find ] disabled=yes",
        '/interface wifi security set [ find default=yes ] authentication-types=""',
        "/interface pppoe-client set [ find name=x ] disabled=yes",
        '/ip address set [ find address="192.168.88.1/24" ] disabled=yes',
        "/ip address set [ find comment=defconf ] address=192.0.2.1/24",
        "/ip address set [ find interface=ether1 ] address=192.0.2.1/24",
        "/ip dhcp-server set [ find name=x ] disabled=yes",
        "/ip dhcp-server network set [ find comment=defconf ] gateway=192.0.2.1",
        "/ip pool set 0 ranges=192.0.2.9",
        "/ip service set telnet,www disabled=yes",
        "/ip service set [ find ] disabled=yes",
    ):
        reading = routeros(f"/interface vlan\nadd interface=ether1 name=z vlan-id=9\n{line}")
        assert not reading.problem, line
        assert kinds(reading)[-1] == "not_understood", line
        assert not reading.complete, line


@pytest.mark.parametrize("end", ["\\", 'comment="cut in a quo', "name=\\"])
def test_an_export_that_stops_in_a_statement_is_cut_short(end: str):
    reading = routeros(
        f"/interface vlan\nadd interface=ether1 name=v vlan-id=5\nadd interface=ether1 {end}".rstrip("\n")
    )
    assert not reading.complete


@pytest.mark.parametrize(
    "line",
    [
        "/interface bridge port add bridge=b interface=ether1 !horizon",
        "/ip dhcp-server network add address=10.0.0.0/24 gateway=10.0.0.1 !next-server",
        "/interface vlan add interface=ether1 name=v vlan-id=5 !*300A09",
        "/interface vlan add interface=ether1 name=v vlan-id=5 !loop-protect",
    ],
)
def test_a_key_that_is_taken_back_is_no_name(line: str):
    reading = routeros(f"/interface bridge\nadd name=b\n{line}")
    assert not_understood(reading) == []
    assert not [name for name in state_of(reading)["ports"] if "!" in name]


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("/interface vlan add interface=ether1 name=v vlan-id=5", "read"),
        ("/interface vlan\nadd interface=ether1 name=v vlan-id=5 mtu=1400", "read"),
        ("/interface bridge settings set use-ip-firewall=yes", "harmless"),
        ("/ip dns static add name=x address=192.0.2.1", "outside"),
        ("/ip firewall filter add chain=input action=drop", "outside"),
        ("/interface vlan add interface=ether1 name=v vlan-id=many", "not_understood"),
        ("/interface bridge port set 0 pvid=7", "not_understood"),
        ("/ip address add address=10.0.0.1/24 interface=ether1 colour=blue", "not_understood"),
        ("# a remark", "comment"),
        ("", "blank"),
    ],
)
def test_what_becomes_of_a_line(line: str, kind: str):
    assert kinds(routeros(line))[-1] == kind


def test_evidence_of_a_wrapped_statement_is_the_line_of_its_value():
    reading = routeros(
        "/interface ethernet\nset [ find default-name=ether1 ] comment=\\\n    barn \\\n    disabled=yes"
    )
    lines = {field: reading.evidence_of(Setting("ports", "ether1", field)) for field in ("description", "enabled")}
    assert {field: [line.line for line in found] for field, found in lines.items()} == {
        "description": [4],
        "enabled": [5],
    }


def test_mixed_line_ends_and_a_mark_in_front_change_nothing():
    plain = "# 2026-01-01 00:00:00 by RouterOS 7.15\n/interface vlan\nadd interface=ether1 \\\n    name=v vlan-id=5\n"
    mixed = "\ufeff" + plain.replace("\n", "\r\n", 2)
    assert reading_of("mikrotik_routeros", mixed).state == reading_of("mikrotik_routeros", plain).state


BRIDGE = (
    "/interface bridge\nadd name=bridge vlan-filtering=yes\n"
    "/interface vlan\nadd interface=ether1 name=vlan10 vlan-id=10\n"
)


@pytest.mark.parametrize("selection", ["[ find name=vlan10 ]", "vlan10", '"vlan10"', 'numbers="vlan10"'])
def test_a_set_changes_the_row_that_was_added_before(selection: str):
    """From memory of the vendor's manual: a name is there once, and ``set`` takes the place of the old value."""
    reading = routeros(f"{BRIDGE}set {selection} vlan-id=20")
    assert state_of(reading)["ports"]["ether1"]["tagged"] == "20"
    assert reading.complete


def test_a_row_that_was_renamed_is_known_by_its_new_name():
    reading = routeros(f"{BRIDGE}set vlan10 name=staff\nset staff vlan-id=30")
    assert state_of(reading)["ports"]["ether1"]["tagged"] == "30"
    assert reading.complete


@pytest.mark.parametrize(
    "line",
    [
        "/interface vlan set [ find name=vlan77 ] vlan-id=77",
        "/interface vlan set vlan77 vlan-id=77 interface=bridge",
        "/interface vlan set 0 vlan-id=77",
        "/interface vlan set *A vlan-id=77",
        "/interface vlan set [ find name=vlan10 disabled=no ] vlan-id=77",
        "/interface bridge set bridge9 vlan-filtering=no",
        "/system logging action set [ find name=far ] remote=192.0.2.9",
        "/system logging action set 4 remote=192.0.2.9",
        "/interface wifi datapath set dp-9 vlan-id=77",
    ],
)
def test_a_set_of_a_row_that_is_not_there_is_not_understood(line: str):
    reading = routeros(f"{BRIDGE}{line}")
    assert kinds(reading)[-1] == "not_understood"
    if "disabled" not in line:
        assert reading.state == routeros(BRIDGE).state


@pytest.mark.parametrize("first", ["set 3 remote=192.0.2.1", "set remote remote=192.0.2.1", "set *3 remote=192.0.2.1"])
@pytest.mark.parametrize("later", ["set [ find name=remote ] remote=192.0.2.2", "set 3 remote=192.0.2.2"])
def test_a_row_of_the_device_is_one_however_it_is_called(first: str, later: str):
    reading = routeros(f"/system logging action\n{first}\n{later}\n/system logging\nadd action=remote topics=info")
    assert reading.state.management.syslog == ("192.0.2.2",)
    assert reading.complete
