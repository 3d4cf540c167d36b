"""Blocks by indentation: what belongs to a section, what ends one, and text that only looks like configuration."""

from __future__ import annotations

import pytest

from tests.reading.texts import ios, kinds, not_understood, reading_of, state_of

PORT = "interface GigabitEthernet0/1\n"
ACCESS = " switchport access vlan 5\n switchport mode access"


def port_of(body: str) -> dict[str, object]:
    found: dict[str, object] = state_of(ios(body))["ports"]["GigabitEthernet0/1"]
    return found


@pytest.mark.parametrize(
    "body",
    [
        f"{PORT}{ACCESS}",
        f"{PORT}{ACCESS}\n exit",
        f"{PORT}!\n{ACCESS}",
        f"{PORT}\n{ACCESS}\n",
        f"{PORT} switchport access vlan 5\n !\n switchport mode access",
        f"{PORT} switchport access vlan 5\n! a remark at the margin\n switchport mode access",
        f"{PORT}   switchport   access  vlan   5   \n\tswitchport mode access",
        "interface GigabitEthernet0/1\nswitchport access vlan 5\nswitchport mode access",
        f"INTERFACE gigabitethernet0/1\n{ACCESS}",
        f"{PORT} switchport access vlan 5\ninterface GigabitEthernet0/1\n switchport mode access",
        f"{PORT} description exit\n exit\n{ACCESS}",
    ],
)
def test_lines_find_their_section_however_they_stand(body: str):
    port = port_of(body)
    assert (port["mode"], port["untagged"]) == ("access", 5)
    assert not_understood(ios(body)) == []


MESSAGES = [
    "%LINK-3-UPDOWN: Interface GigabitEthernet0/7, changed state to up",
    "*Mar  1 00:12:07.511: %LINK-3-UPDOWN: Interface GigabitEthernet0/7, changed state to up",
    "Oct 11 10:11:12.123: %SYS-5-CONFIG_I: Configured from console by vty0 (192.0.2.7)",
    ".Oct 11 10:11:12: %SYS-5-CONFIG_I: Configured from console",
    "2w1d: %SYS-5-CONFIG_I: Configured from console",
    "00:03:17: %LINEPROTO-5-UPDOWN: Line protocol on Interface Vlan1, changed state to up",
    "Oct 11 10:11:12.123 GMT: %SYS-5-CONFIG_I: Configured from console",
    "000123: Oct 11 10:11:12.123 GMT: %SYS-5-CONFIG_I: Configured from console",
    "Oct 11 2026 10:11:12.123 CEST: %SEC_LOGIN-5-LOGIN_SUCCESS: Login Success [user: x]",
    "*Mar  1 00:12:07.511: %PARSER-6-EXPOSEDLOCKACQUIRED: Exclusive configuration lock acquired",
    "Oct 11 10:11:12.123: %SW_MATM-4-MACFLAP_NOTIF: Host 0000.5e00.5301 in vlan 5 is flapping",
    "Oct 11 10:11:12.123: %ILPOWER-7-DETECT: Interface Gi0/7: Power Device detected: IEEE PD",
]
"""Log messages with the time stamps that ``service timestamps`` and ``service sequence-numbers`` offer."""


@pytest.mark.parametrize("message", MESSAGES)
def test_a_log_message_between_two_lines_is_noise_and_ends_nothing(message: str):
    reading = ios(f"{PORT} switchport access vlan 5\n{message}\n switchport mode trunk")
    assert kinds(reading) == ["read", "read", "read", "noise", "read", "read"]
    assert state_of(reading)["ports"]["GigabitEthernet0/1"]["mode"] == "trunk"


@pytest.mark.parametrize("cut", [7, 12, 18])
def test_a_line_torn_by_a_log_message_is_not_lost_silently(cut: int):
    line = " switchport mode trunk"
    reading = ios(f"{PORT} switchport access vlan 5\n{line[:cut]}\n{MESSAGES[1]}\n{line[cut:]}\n shutdown")
    assert not reading.complete
    assert state_of(reading)["ports"]["GigabitEthernet0/1"]["enabled"] is False


@pytest.mark.parametrize(
    "banner",
    [
        "banner motd ^C\n{bait}\n^C",
        "banner motd ^C {bait} ^C",
        "banner motd #\n{bait}\nlast words #",
        "banner login @{bait}\nmore@",
        "banner exec \x03\n{bait}\n\x03",
        "banner motd ^C\n\n   indented {bait}\n!\n! {bait}\nend\n^C",
        "banner motd $no {bait} here$",
        "banner slip-ppp ^C\n{bait}^C",
    ],
)
def test_what_a_banner_says_is_no_configuration(banner: str):
    bait = "interface GigabitEthernet0/9"
    reading = ios(f"{banner.format(bait=bait)}\n{PORT}{ACCESS}")
    assert list(state_of(reading)["ports"]) == ["GigabitEthernet0/1"]
    assert set(kinds(reading)) == {"read", "literal"}


def test_a_banner_that_never_ends_makes_the_capture_short_and_hides_no_port():
    reading = ios(f"banner motd ^C\nwelcome\n{PORT}{ACCESS}")
    assert "never ends" in reading.problem
    assert list(state_of(reading)["ports"]) == ["GigabitEthernet0/1"]


def test_the_word_banner_in_a_description_opens_none():
    reading = ios(f"{PORT} description banner motd #\n{ACCESS}")
    assert port_of(f"{PORT} description banner motd #\n{ACCESS}")["description"] == "banner motd #"
    assert set(kinds(reading)) == {"read"}


def test_a_certificate_is_no_configuration():
    body = (
        "crypto pki certificate chain self\n certificate self-signed 01\n  30820229 30820192\n"
        f"  interface GigabitEthernet0/9\n  \tquit\n{PORT}{ACCESS}"
    )
    assert list(state_of(ios(body))["ports"]) == ["GigabitEthernet0/1"]
    assert kinds(ios(body))[2:6] == ["literal"] * 4


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (f"hostname sw\n{PORT}{ACCESS}\n", "cut short"),
        (f"hostname sw\nbanner motd ^C\nend\n^C\n{PORT} switchport acc", "cut short"),
        (f"hostname sw\n! end\n{PORT} description end\n", "cut short"),
        ("", "empty"),
        ("\n\n  \n", "empty"),
        ("sw>show running-config\n     ^\n% Invalid input detected at '^' marker.\n\nsw>\n", "answered with an error"),
        ("Command authorization failed.\n", "answered with an error"),
        ("<html><body>404</body></html>\n", "nothing in it"),
        (f"configure terminal\nhostname sw\n{PORT}{ACCESS}\nend\n", "script"),
    ],
)
def test_a_capture_that_is_no_whole_configuration_says_why(text: str, problem: str):
    reading = reading_of("cisco_ios", text)
    assert problem in reading.problem
    assert not reading.complete


@pytest.mark.parametrize(
    "body",
    [
        "interface GigabitEthernet0/1\n sw mode acc",
        "interface GigabitEthernet0/1\nsw mode acc",
        "interface GigabitEthernet0/1\nsw acc vlan 10",
        "interface GigabitEthernet0/1\n switchport acc vlan 10",
        "interface GigabitEthernet0/1\n switchport trunk allow vlan 10",
        "inter GigabitEthernet0/1\n switchport access vlan 10",
        "ip dhcp po staff\n network 10.0.0.0 255.255.255.0",
        "interface GigabitEthernet0/1\n ip address 10.0.0.1/24",
        "vlan 10\n nam staff",
        "interface GigabitEthernet0/1\n ip address 10.0.0.1 255.255.255.0 ! the old one",
    ],
)
def test_an_abbreviation_is_read_or_not_understood_but_never_lost(body: str):
    # "abbreviations everywhere" is common practice in pasted scripts; a device prints none
    reading = ios(body)
    last = kinds(reading)[2]
    assert last == "not_understood" or (last == "read" and reading.state != ios(body.splitlines()[0]).state)


@pytest.mark.parametrize("indent", [" ", "  ", "    ", "\t"])
def test_a_whole_configuration_that_is_indented_is_not_understood_rather_than_empty(indent: str):
    body = "".join(f"{indent}{line}\n" for line in f"{PORT}{ACCESS}".splitlines())
    reading = ios(body.rstrip("\n"))
    assert not_understood(reading) or state_of(reading)["ports"]


def test_the_listing_stands_anywhere_beside_the_configuration():
    listing = (
        "VLAN Name                             Status    Ports\n---- ---- ---- ----\n7    seven    active    Gi0/1\n"
    )
    before = reading_of("cisco_ios", f"sw#show vlan brief\n\n{listing}sw#show run\nhostname sw\n{PORT}{ACCESS}\nend\n")
    after = reading_of("cisco_ios", f"hostname sw\n{PORT}{ACCESS}\nend\nsw#show vlan brief\n\n{listing}")
    assert before.state == after.state
    assert state_of(after)["vlans"] == {"7": {"name": "seven"}}
    assert before.complete
    assert after.complete
