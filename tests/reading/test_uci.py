"""UCI text: quoting, comments, lists, both forms, and sections with and without a name."""

from __future__ import annotations

import shlex

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from auditor.areas.observing import read
from auditor.core.state import Setting
from auditor.reading.layouts.uci import _words as words
from auditor.reading.source import CaptureFile
from tests.effort import amount
from tests.reading.texts import kinds, not_understood, reading_of, state_of, uci

RADIO = "config wifi-device 'radio0'\n\toption band '2g'\n"


def aired(option: str) -> list[str]:
    """Return the Wi-Fi names of a file with this option line in it."""
    text = (
        f"{RADIO}config wifi-iface\n\toption device 'radio0'\n\toption mode 'ap'\n{option}\n\toption encryption 'none'"
    )
    reading = uci(text, "wireless")
    assert not_understood(reading) == []
    return list(state_of(reading)["ssids"])


@pytest.mark.parametrize(
    ("option", "ssid"),
    [
        ("\toption ssid 'Tea Room'", "Tea Room"),
        ('\toption ssid "Tea Room"', "Tea Room"),
        ("\toption ssid Tea", "Tea"),
        ("    option   ssid   Tea    ", "Tea"),
        ("option ssid Tea", "Tea"),
        ("\toption ssid 'Tea # Room'", "Tea # Room"),
        ("\toption ssid Tea#Room", "Tea#Room"),
        ("\toption ssid Tea # the front room", "Tea"),
        ("\toption ssid 'Tea' #front", "Tea"),
        ("\toption ssid 'O'\\''Hara'", "O'Hara"),
        ('\toption ssid "O\'Hara"', "O'Hara"),
        ('\toption ssid "say \\"hi\\""', 'say "hi"'),
        ("\toption ssid 'back\\slash'", "back\\slash"),
        ('\toption ssid "back\\\\slash"', "back\\slash"),
        ("\toption ssid Tea\\ Room", "Tea Room"),
        ("\toption ssid 'a=b.c[0]'", "a=b.c[0]"),
        ("\toption 'ssid' 'Tea'", "Tea"),
        ("\toption ssid 'Studio 9 (Members)'", "Studio 9 (Members)"),
        ("\toption ssid 'Café — 中'", "Café — 中"),
        ("\toption ssid 'old'\n\toption ssid 'new'", "new"),
    ],
)
def test_a_value_is_what_was_meant(option: str, ssid: str):
    assert aired(option) == [ssid]


PIECES = st.sampled_from(
    ["a", "B7", " ", "  ", "'x y'", '"x y"', "'it'\\''s'", '"a\\"b"', "\\ ", "=", ".", "#x", " # rest"]
)


@settings(max_examples=amount(quick=25, ci=100, long=400))
@given(st.lists(PIECES, max_size=8).map("".join))
def test_words_are_those_of_a_shell(text: str):
    # POSIX shell quoting as Python's shlex has it; UCI takes it over
    lexer = shlex.shlex(text.strip(), posix=True, punctuation_chars=False)
    lexer.whitespace_split, lexer.commenters = True, ""
    try:
        parts = list(lexer)
    except ValueError:
        assume(False)
    marked = next((i for i, part in enumerate(parts) if part.startswith("#")), len(parts))
    assert words(text.strip()) == parts[:marked]


@pytest.mark.parametrize(
    "ports",
    [
        "\tlist ports 'lan1:t'\n\tlist ports 'lan2:u*'\n\tlist ports 'lan3'",
        "\toption ports 'lan1:t lan2:u* lan3'",
        "\tlist ports lan1:t\n\tlist ports lan2:u*\n\tlist ports lan3",
        "\tlist ports 'lan1:t lan2:u*'\n\tlist ports 'lan3'",
        "        list   ports   'lan1:t'  \n list ports 'lan2:u*'#\n\tlist ports 'lan3' # three",
    ],
)
def test_a_list_is_a_list_however_it_is_written(ports: str):
    ports = ports.replace("#\n", "\n")
    bridge = "config device\n\toption name 'br'\n\toption type 'bridge'\n"
    reading = uci(f"{bridge}config bridge-vlan\n\toption device 'br'\n{ports}\n\toption vlan '9'")
    found = {name: (port["untagged"], port["tagged"]) for name, port in state_of(reading)["ports"].items()}
    assert found == {"lan1": (None, "9"), "lan2": (9, ""), "lan3": (9, "")}


@pytest.mark.parametrize(
    "option",
    [
        "\toption ssid 'never closed",
        '\toption ssid "never closed',
        "\toption ssid two words",
        "\toption ssid",
        "\toption ssid 'a' 'b'",
        "\tssid 'Tea'",
        "\toptoin ssid 'Tea'",
        "\toption ssid ''",
    ],
)
def test_a_line_that_is_no_option_is_not_understood_and_hides_no_other(option: str):
    text = f"{RADIO}config wifi-iface\n{option}\n\toption device 'radio0'\nconfig wifi-iface\n\toption ssid 'Next'"
    reading = uci(text, "wireless")
    assert not_understood(reading) == [option.strip()]
    assert list(state_of(reading)["ssids"]) == ["Next"]


def test_a_value_over_two_lines_is_not_understood():
    reading = uci(f"{RADIO}config wifi-iface\n\toption ssid 'two\nlines'\n\toption device 'radio0'", "wireless")
    assert not_understood(reading) == ["option ssid 'two", "lines'"]


DOTTED = """\
network.@device[0]=device
network.@device[0].name='br-lan'
network.@device[0].type='bridge'
network.@device[0].ports='lan1' 'lan2'
network.cfg0a1b2c=bridge-vlan
network.cfg0a1b2c.device='br-lan'
network.cfg0a1b2c.vlan='7'
network.cfg0a1b2c.ports='lan1:u*' 'lan2:t'
network.lan=interface
network.lan.device='br-lan.7'
network.lan.proto='static'
network.lan.ipaddr='10.0.0.1/24' '10.0.1.1/24'
wireless.radio0=wifi-device
wireless.radio0.band='2g'
wireless.@wifi-iface[0]=wifi-iface
wireless.@wifi-iface[0].device='radio0'
wireless.@wifi-iface[0].mode='ap'
wireless.@wifi-iface[0].ssid='It'\\''s = #1 [x].y'
wireless.@wifi-iface[0].network='lan'
"""
EXPORTED = """\
package network
config device
	option name 'br-lan'
	option type 'bridge'
	list ports 'lan1'
	list ports 'lan2'
config bridge-vlan
	option device 'br-lan'
	option vlan '7'
	list ports 'lan1:u*'
	list ports 'lan2:t'
config interface 'lan'
	option device 'br-lan.7'
	option proto 'static'
	list ipaddr '10.0.0.1/24'
	list ipaddr '10.0.1.1/24'
package wireless
config wifi-device 'radio0'
	option band '2g'
config wifi-iface
	option device 'radio0'
	option mode 'ap'
	option ssid 'It'\\''s = #1 [x].y'
	option network 'lan'
"""


def test_both_forms_say_the_same():
    assert uci(DOTTED, "show").state == uci(EXPORTED, "export").state
    assert list(uci(DOTTED, "show").state.ssids) == ["It's = #1 [x].y"]


@pytest.mark.parametrize("line", ["wireless.r.ssid='Orphan'", "wireless.@wifi-iface[3].disabled='1'"])
def test_an_option_of_a_section_that_nobody_opened_is_not_lost_silently(line: str):
    reading = uci(f"{line}\nwireless.radio0=wifi-device", "show")
    assert not_understood(reading) == [line]


@pytest.mark.parametrize("prompt", ["root@ap:~#", "root@ap:/etc/config#", "root@ap:~# ", "admin@ap.example:~$ exit"])
def test_a_prompt_is_noise_wherever_it_stands(prompt: str):
    reading = uci(f"{prompt}\nconfig interface 'lan'\n\toption device 'eth0'\n\toption proto 'dhcp'\n{prompt}")
    assert kinds(reading) == ["noise", "read", "read", "read", "noise"]


@pytest.mark.parametrize(
    ("text", "name", "shown"),
    [
        ("config interface 'lan'\n\toption device 'eth0'", "network", {"vlans", "ports", "gateways", "uplinks"}),
        ("config wifi-device 'radio0'", "wireless", {"ssids"}),
        ("config dnsmasq", "dhcp", {"dhcp"}),
        ("package network\npackage dhcp\nconfig dnsmasq", "all.txt", {"dhcp", "vlans", "ports", "gateways", "uplinks"}),
        ("config system\n\toption hostname 'x'", "system", {"hostname", "management.ntp", "management.syslog"}),
    ],
)
def test_an_area_is_shown_by_its_file(text: str, name: str, shown: set[str]):
    areas = {
        "vlans",
        "ports",
        "gateways",
        "uplinks",
        "ssids",
        "dhcp",
        "hostname",
        "management.ntp",
        "management.syslog",
    }
    missing = {str(setting) for setting in reading_of("openwrt", f"{text}\n", name).not_shown}
    assert areas - missing == shown


NETWORK = "config interface 'lan'\n\toption device 'eth0'\n"
SSH = "config dropbear\n\toption Port '22'\n"
WEB = "config uhttpd 'main'\n\toption home '/www'\n"
NAMES = "config dnsmasq\n\toption local '/lan/'\n"
NONE = "uci: Entry not found\n"
ASKED = f"root@ap:~# uci export dropbear\n{SSH}root@ap:~# uci export uhttpd\n{NONE}root@ap:~#\n"
OF_FILES = {"ssids", "dhcp", "management.logins", "management.dns", "gateways.relay_to"}
LOGINS = {"management.logins"}


@pytest.mark.parametrize(
    ("files", "shown"),
    [
        ({}, set()),
        ({"dropbear": SSH}, set()),
        ({"uhttpd": WEB}, set()),
        ({"dropbear": SSH, "uhttpd": WEB}, LOGINS),
        ({"dropbear": SSH, "uhttpd": NONE}, LOGINS),
        ({"dropbear": SSH, "uci_export_uhttpd.txt": NONE}, LOGINS),
        ({"dhcp": NAMES}, {"dhcp", "management.dns", "gateways.relay_to"}),
        ({"all.txt": ASKED}, LOGINS),
        ({"all.txt": f"root@ap:~# uci export\npackage dropbear\n{SSH}"}, OF_FILES),
        ({"all.txt": f"root@ap:~# uci export dropbear\npackage dropbear\n{SSH}"}, set()),
    ],
)
def test_what_a_file_shows_is_open_without_it(files: dict[str, str], shown: set[str]):
    texts = {"network": NETWORK, **files}
    found = read("openwrt", [CaptureFile(name, text.encode()) for name, text in texts.items()])
    assert (found.problem, not_understood(found)) == ("", [])
    assert OF_FILES - {*map(str, found.not_shown)} == shown


@pytest.mark.parametrize(
    "answer", ["uci: Entry not found", "-ash: uci: not found", "cat: can't open '/etc/config/network': No such file"]
)
def test_an_error_instead_of_an_answer_is_told(answer: str):
    assert "answered with an error" in reading_of("openwrt", f"{answer}\n", "network").problem


def test_networks_that_lie_on_each_other_are_in_no_vlan_and_have_their_lines():
    wifi = (
        "wireless.r=wifi-device\nwireless.w=wifi-iface\nwireless.w.device='r'\nwireless.w.mode='ap'\n"
        "wireless.w.ssid='shop'\nwireless.w.network='a'"
    )
    found = uci(f"network.a=interface\nnetwork.a.device='@b'\nnetwork.b=interface\nnetwork.b.device='@a'\n{wifi}")
    assert state_of(found)["ssids"]["shop"]["vlan"] is None
    lines = [line.text for line in found.evidence_of(Setting("ssids", "shop", "vlan"))]
    assert {"network.a.device='@b'", "network.b.device='@a'"} <= set(lines)
