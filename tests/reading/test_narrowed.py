"""Captures that are less than the whole configuration, or more than one. Filters of each dialect: from memory."""

from __future__ import annotations

import pytest

from auditor.areas import read
from auditor.reading.source import CaptureFile

IOS = "hostname sw2\n!\ninterface GigabitEthernet0/1\n switchport mode access\n!\nend\n"
JUNOS = "version 21.4R3;\nsystem {\n    host-name sw1;\n}\n"
FORTIOS = '#config-version=FGT60F-7.2.5-FW:opmode=0:vdom=0:user=a\nconfig system global\n    set hostname "fw1"\nend\n'
ROUTEROS = "# 2026-09-09 09:09:09 by RouterOS 7.11.2\n/system identity\nset name=ap1\n"
UCI = "package network\n\nconfig interface 'lan'\n\toption proto 'dhcp'\n"
VYOS = "set system host-name 'r1'\n"


def problem(platform: str, text: str) -> str:
    return read(platform, [CaptureFile("r.txt", text.encode())]).problem


@pytest.mark.parametrize(
    ("platform", "prompt", "text"),
    [
        ("cisco_ios", "sw2#show running-config | exclude authentication", IOS),
        ("cisco_ios", "sw2#sh run | section interface", IOS),
        ("cisco_ios", "sw2#show running-config interface GigabitEthernet0/1", IOS),
        ("cisco_ios", "sw2#show running-config view full | begin hostname", IOS),
        ("juniper_junos", "tech@sw1> show configuration | except voip | no-more", JUNOS),
        ("juniper_junos", "tech@sw1> show configuration interfaces | no-more", JUNOS),
        ("fortinet", "fw1 # show | grep -f vlan", FORTIOS),
        ("mikrotik_routeros", "[admin@ap1] > /export where disabled=no", ROUTEROS),
        ("mikrotik_routeros", "[admin@ap1] > export terse where disabled=no", ROUTEROS),
        ("openwrt", "root@ap2:~# cat /etc/config/network | grep -v disabled", UCI),
        ("vyos", "vyos@r1:~$ show configuration commands | match interfaces", VYOS),
    ],
)
def test_what_a_filter_left_out_may_matter(platform: str, prompt: str, text: str):
    found = problem(platform, f"{prompt}\n{text}")
    assert "leaves out a part of it: save all that" in found
    assert prompt.rsplit(maxsplit=1)[-1] in found


@pytest.mark.parametrize(
    ("platform", "prompt", "text"),
    [
        ("cisco_ios", "sw2#show running-config", IOS),
        ("cisco_ios", "sw2#sh run all", IOS),
        ("cisco_ios", "sw2#show running-config | redirect tftp://192.0.2.5/sw2", IOS),
        ("cisco_ios", "sw2#show logging | include down\nsw2#show running-config", IOS),
        ("cisco_ios", "sw2#show running-config | include snmp\nsw2#show running-config", IOS),
        ("juniper_junos", "tech@sw1> show configuration | display set | no-more", "set system host-name sw1\n"),
        ("fortinet", "fw1 # show full-configuration", FORTIOS),
        ("mikrotik_routeros", "[admin@ap1] > /export terse hide-sensitive file=ap1", ROUTEROS),
        ("openwrt", "root@ap2:~# cat /etc/config/network", UCI),
    ],
)
def test_how_it_is_printed_leaves_nothing_out(platform: str, prompt: str, text: str):
    assert problem(platform, f"{prompt}\n{text}") == ""


@pytest.mark.parametrize(
    ("platform", "text"),
    [
        ("cisco_ios", IOS),
        ("cisco_ios", f"sw2#show running-config\n{IOS}"),
        ("juniper_junos", JUNOS),
        ("juniper_junos", "tech@sw1> show configuration | no-more\nsystem {\n    host-name sw1;\n}\n"),
        ("fortinet", FORTIOS),
        ("mikrotik_routeros", ROUTEROS),
    ],
)
def test_a_log_with_two_configurations_is_none(platform: str, text: str):
    assert problem(platform, text) == ""
    assert "more than one configuration" in problem(platform, text + text)
    assert "more than one configuration" in problem(platform, text + text.replace("sw", "old"))
