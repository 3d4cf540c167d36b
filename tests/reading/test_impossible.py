"""What a capture says in the right words and no device can do is not understood: it is told, and it crashes nothing.

Ranges that run backwards or hold every address there is, prefixes longer than an address (RFC 791: 32 bits), VLANs
beyond IEEE 802.1Q (1 to 4094), options beyond RFC 2132 (1 to 254), lease times beyond RFC 2131 (32 bits of seconds),
offsets beyond a prefix, ports beyond any device.
"""

from __future__ import annotations

import pytest

from auditor.areas import read
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile
from tests.compare.site import Site, conforming, new_lines
from tests.effort import share

EVERY = ("0.0.0.0", "255.255.255.255")
HUGE = "9" * 5000
Place = tuple[str, str, str, tuple[str, ...]]
"""A site, a file of its captures, a text in it, and texts that cannot stand in its place."""


def ranges(form: str, first: str, last: str, *more: str) -> tuple[str, ...]:
    """Return a range as a dialect writes it, backwards and with every address; behind the right one as it is."""
    return (form.format(first, last), form.format(last, first), form.format(*EVERY), *more)


def place(site: str, file: str, right: str, *wrong: str) -> Place:
    """Return a place."""
    return site, file, right, wrong


PLACES: dict[str, list[Place]] = {
    "arista_eos": [
        place(
            "arista_eos",
            "core1.cfg",
            *ranges("range {} {}", "10.77.10.50", "10.77.10.99", "range 10.77.10.50 10.77.10.999"),
        ),
        place("arista_eos", "core1.cfg", "vlan 10\n", "vlan 0\n", "vlan 5000\n", f"vlan {HUGE}\n"),
        place(
            "arista_eos",
            "core1.cfg",
            "interface Management1",
            "interface Management1-4094",
            f"interface Management1-{HUGE}",
        ),
    ],
    "aruba_aoscx": [
        place("aruba_aoscx", "core1.cfg", *ranges("range {} {}", "10.66.30.50", "10.66.30.150")),
        place("aruba_aoscx", "core1.cfg", *ranges("range {} {} prefix-len 24", "10.66.10.50", "10.66.10.99")),
        place("aruba_aoscx", "core1.cfg", "vlan 10\n", "vlan 4095\n", f"vlan {HUGE}\n"),
    ],
    "cisco_ios": [
        place("harbour-bakery", "gw1.cfg", *ranges("excluded-address {} {}", "10.61.11.1", "10.61.11.99")),
        place("harbour-bakery", "gw1.cfg", "lease 0 8", "lease 99999999", "lease 0 99999999", f"lease 0 0 {HUGE}"),
        place("harbour-bakery", "gw1.cfg", "option 150 ip", "option 0 ip", "option 255 ip", f"option {HUGE} ip"),
        place(
            "harbour-bakery", "gw1.cfg", "10.61.11.1 255.255.255.0", "10.61.11.1 255.0.255.0", "10.61.11.1 0.0.0.255"
        ),
        place("harbour-bakery", "sw1.cfg", "access vlan 700", "access vlan 0", "access vlan 5000", "access vlan -1"),
        place("harbour-bakery", "sw1.cfg", "allowed vlan 9,11-14", "allowed vlan 9,14-11", "allowed vlan 9,11-4095"),
    ],
    "cisco_s300": [
        place("cisco_s300", "core1.cfg", *ranges("low {} high {}", "10.72.10.50", "10.72.10.199")),
        place("cisco_s300", "core1.cfg", "10.72.10.199 255.255.255.0", "10.72.10.199 255.0.255.0", "10.72.10.199 /33"),
    ],
    "fortinet": [
        place(
            "fortinet",
            "gw1.cfg",
            *ranges("set start-ip {}\n                set end-ip {}", "10.52.10.50", "10.52.10.99"),
        ),
        place("fortinet", "gw1.cfg", "set lease-time 43200", "set lease-time -1", f"set lease-time {HUGE}"),
        place("fortinet", "gw1.cfg", "set vlanid 20\n", "set vlanid 4095\n", f"set vlanid {HUGE}\n"),
        place("fortinet", "gw1.cfg", "set code 66", "set code 0", "set code 256", f"set code {HUGE}"),
    ],
    "hp_procurve": [
        place("hp_procurve", "core1.cfg", *ranges("range {} {}", "10.71.10.50", "10.71.10.99")),
        place("hp_procurve", "core1.cfg", "option 42 ip", "option 0 ip", "option 300 ip"),
        place("hp_procurve", "core1.cfg", "lease 00:12:00", f"lease {HUGE}:12:00"),
        place("hp_procurve", "core1.cfg", "vlan 20\n", "vlan 4095\n", "vlan 0\n"),
    ],
    "juniper_junos": [
        place(
            "juniper_junos", "gw1.cfg", *ranges("low {};\n                    high {};", "10.95.10.50", "10.95.10.99")
        ),
        place("juniper_junos", "core1.cfg", *ranges("low {} high {};", "10.95.50.10", "10.95.50.40")),
        place("juniper_junos", "core1.cfg", "pool 10.95.50.0/26 {", "pool 10.95.50.0/33 {"),
        place("juniper_junos", "gw1.cfg", "option 66 string", "option 0 string", "option 999 string"),
        place("juniper_junos", "gw1.cfg", "maximum-lease-time 3600", f"maximum-lease-time {HUGE}"),
    ],
    "mikrotik_routeros": [
        place("quarry-road", "gw1.rsc", *ranges("ranges={}-{}", "10.40.10.50", "10.40.10.199", "ranges=10.40.10.0/33")),
        place("quarry-road", "gw1.rsc", "10.40.10.1/24", "10.40.10.1/33", "10.40.10.1/-1", f"10.40.10.1/{HUGE}"),
        place("quarry-road", "gw1.rsc", "lease-time=2h", "lease-time=9999999w", f"lease-time={HUGE}"),
        place("quarry-road", "gw1.rsc", "vlan-id=10", "vlan-id=0", "vlan-id=4095", "vlan-id=-1"),
    ],
    "openwrt": [
        place(
            "tannery-studios",
            "fw1/dhcp",
            "option start '100'",
            "option start '300'",
            "option start '-1'",
            f"option start '{HUGE}'",
        ),
        place("tannery-studios", "fw1/dhcp", "option limit '120'", "option limit '-1'", f"option limit '{HUGE}'"),
    ],
    "tplink_jetstream": [
        place("tplink_jetstream", "core1.cfg", *ranges("excluded-address {} {}", "10.73.10.1", "10.73.10.49")),
        place("tplink_jetstream", "core1.cfg", "option 66 ascii", "option 0 ascii", "option 255 ascii"),
        place("tplink_jetstream", "core1.cfg", " lease 90", f" lease {HUGE}"),
        place("tplink_jetstream", "core1.cfg", "vlan 20\n", "vlan 0\n", "vlan 4095\n"),
    ],
    "ubiquiti_edgerouter": [
        place(
            "ubiquiti_edgerouter",
            "er1.cfg",
            "start 10.73.20.50 {",
            "start 10.73.20.250 {",
            "start 0.0.0.0 {",
        ),
        place("ubiquiti_edgerouter", "er1.cfg", "lease 3600", "lease -1", f"lease {HUGE}"),
    ],
    "vyos": [
        place("vyos", "gw1.cfg", "start 10.71.10.50", "start 10.71.10.250", "start 0.0.0.0"),
        place("vyos", "hall1.cfg", "start '10.71.50.10'", "start '10.71.50.60'", "start '0.0.0.0'"),
        place("vyos", "hall1.cfg", "subnet 10.71.50.0/26 lease '43200'", f"subnet 10.71.50.0/26 lease '{HUGE}'"),
        place("vyos", "hall1.cfg", "allowed-vlan '40-50'", "allowed-vlan '50-40'", "allowed-vlan '40-4095'"),
    ],
}


def test_every_platform_is_here():
    assert set(PLACES) >= {name for name in catalogue.names() if name != "aruba_osswitch"}


def changed(site: Site, file: str, right: str, wrong: str) -> Site:
    """Return the site with one text of a file replaced."""
    text = site.text(file)
    assert right in text, (file, right)
    return site.having(file, text.replace(right, wrong, 1))


@pytest.mark.parametrize("platform", share(PLACES, quick=3))
def test_what_cannot_be_is_not_understood(platform: str):
    for name, file, right, wrongs in PLACES[platform]:
        before = conforming(name)
        device = next(d for d in before.plan.data.devices if file in before.files_of(d))
        assert before.plan.data.devices[device].platform == platform
        for wrong in wrongs:
            site = changed(before, file, right, wrong)
            told = f"{file}: {wrong[:80]}"
            reading = read(platform, [CaptureFile(each, site.files[each]) for each in site.files_of(device)])
            lines = {(line.file, line.line) for line in reading.quoted_not_understood()}
            expected = {(file, number) for number in new_lines(before.text(file), site.text(file))}
            assert lines & expected, told
            audited = {d.name: d for d in site.report().devices}[device]
            assert (audited.outcome, audited.complete) == ("audited", False), (told, audited.reason)


@pytest.mark.parametrize(
    ("platform", "text", "line"),
    [
        ("openwrt", "config device\n\toption name 'eth1.8021'\n\toption type '8021q'\n\toption ifname 'eth1'\n", 2),
        ("openwrt", "config interface 'lan'\n\toption device 'eth1.9999'\n\toption proto 'none'\n", 2),
        ("mikrotik_routeros", f"/interface vlan\nadd interface=ether1 name=vlan{'9' * 40} vlan-id=10\n", 2),
        ("vyos", f"set interfaces bonding bond{'9' * 40} description x\n", 1),
    ],
)
def test_a_name_with_a_number_that_cannot_be_is_not_understood(platform: str, text: str, line: int):
    """Wherever it stands: in the first line of a section, below it, or as that of another interface."""
    reading = read(platform, [CaptureFile("device", text.encode())])
    assert [quoted.line for quoted in reading.quoted_not_understood()] == [line]
