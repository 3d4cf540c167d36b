"""Real configurations by other people: each is read without an error, and what is not whole never counts as whole."""

from __future__ import annotations

import json
import random
import re
from collections import Counter

import pytest

from auditor.areas import read
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile, Disposition
from tests.conftest import CORPUS
from tests.platforms import corpus

KNOWN = corpus.platforms_in(CORPUS)[0] if CORPUS.is_dir() else []
DEVICES = [device for platform in KNOWN for device in corpus.devices_in(CORPUS, platform)]
MOST_PERCENT = 1.0
SCRIPT_LINES = {
    "cisco_ios": r"(en|enable|conf(ig|igure)?( t| term| terminal)?|do .*|wr|(wr|write) mem(ory)?|copy run.* start.*) *",
    "fortinet": r"\s*(execute|diagnose|delete|purge|rename|clone|append)\b.*",
    "hp_procurve": r"conf(ig|igure)?( t| term| terminal)?|wr(ite)?( mem(ory)?)?|no vlan \d+",
    "vyos": r"""#!.*|conf(igure)?|commit|save|exit|delete .*|set .*"\$\{?\w+\}?" *""",
    "juniper_junos": r"(configure|edit|delete|rollback|commit|load|exit|quit|top|up)( [^;{}]*)?",
    "mikrotik_routeros": r"\s*(:(local|global|foreach|for|if|delay|put|log|do|while|set)\b|\}).*",
}
"""What is typed or run on a device and never stands in a configuration of it (common practice, no source)."""
LAST_LINES = {"arista_eos": r"end *", "cisco_ios": r"end *", "cisco_s300": r"exit *", "tplink_jetstream": r"end *"}
"""What a whole configuration ends with (common practice, no source)."""


def each(devices):
    return pytest.mark.parametrize("device", devices, ids=lambda device: f"{device.platform}-{device.name}")


def lines_of(device):
    text = b"\n".join(source.data for source in device.sources()).decode(errors="replace")
    return [line.rstrip("\r") for line in text.split("\n")]


@each(DEVICES)
def test_every_line_is_accounted_for(device):
    reading = device.read()
    kinds = Counter(kind for lines in reading.lines for kind in lines.kinds)
    assert kinds[Disposition.UNSEEN] == 0
    assert sum(kinds.values()) == reading.line_count
    for lines, source in zip(reading.lines, device.sources(), strict=True):
        assert len(lines.kinds) == len(lines.texts) == len(source.data.removesuffix(b"\n").split(b"\n"))


@each(DEVICES)
def test_what_was_read_is_plain_data_and_the_same_when_read_again(device):
    first, second = device.read(), device.read()
    assert first.state == second.state
    assert first.state.as_json() == second.state.as_json()
    assert first.complete == second.complete
    assert (first.audited_lines, first.line_count) == (second.audited_lines, second.line_count)


@pytest.mark.parametrize("platform", KNOWN)
def test_next_to_nothing_of_audited_areas_is_not_understood(platform):
    total = corpus.tally(CORPUS, platform)
    assert total.audited > 0
    assert total.percent < MOST_PERCENT


def is_script(device):
    pattern = SCRIPT_LINES.get(device.platform)
    return "script" in device.name or any(pattern and re.fullmatch(pattern, line) for line in lines_of(device))


def is_cut_short(device):
    pattern = LAST_LINES.get(device.platform)
    return "truncated" in device.name or bool(
        pattern and not any(re.fullmatch(pattern, line) for line in lines_of(device))
    )


@each([device for device in DEVICES if is_script(device)])
def test_a_script_is_no_configuration(device):
    reading = device.read()
    assert reading.problem
    assert not reading.complete


@each([device for device in DEVICES if is_cut_short(device)])
def test_what_is_cut_short_is_never_complete(device):
    reading = device.read()
    assert reading.problem
    assert not reading.complete


@each([d for d in DEVICES if catalogue.get(d.platform).patterns("end") and not is_cut_short(d)])
def test_a_whole_capture_that_is_cut_anywhere_is_not_complete(device):
    """Cut at ten places in front of the last line that ends a configuration."""
    (source,) = device.sources()
    ends = [
        match.start() for match in re.finditer(rb"(?m)^" + LAST_LINES[device.platform].encode() + rb"\r?$", source.data)
    ]
    chance = random.Random(device.name)
    for place in [ends[0], *(chance.randrange(1, ends[0]) for _ in range(9))]:
        reading = read(device.platform, [CaptureFile(source.name, source.data[:place])])
        assert not reading.complete, place
        assert reading.count([Disposition.UNSEEN]) == 0


@each(DEVICES)
def test_line_ends_and_trailing_blanks_change_nothing(device):
    plain = [source.data.replace(b"\r\n", b"\n") for source in device.sources()]
    wanted = read(device.platform, [CaptureFile(p.name, d) for p, d in zip(device.paths, plain, strict=True)])
    for change in (lambda data: data.replace(b"\n", b"\r\n"), lambda data: data.rstrip(b"\n"), _padded, _marked):
        changed = [CaptureFile(path.name, change(data)) for path, data in zip(device.paths, plain, strict=True)]
        reading = read(device.platform, changed)
        assert reading.state == wanted.state
        assert bool(reading.problem) == bool(wanted.problem)


def _padded(data):
    """Put blanks at the ends of lines, as a pager that fills the screen does; not behind a line that goes on."""
    return b"\n".join(line + b"   " if line and not line.endswith(b"\\") else line for line in data.split(b"\n"))


def _marked(data):
    return b"\xef\xbb\xbf" + data


ODD_WORDS = [
    "", "''", '"', "\\", "{", "}", "[x]", "!", "no", "x", "0", "4095", "5000", "99999999999999999999", "10-5", "1-",
    "10,xx", "10.2.3", "300.1.1.1", "10.2.3.4/99", "10.2.3.4-10.2.3.1", "0.0.0.0/0", "255.0.255.0", "infinite", "none",
]  # fmt: skip


def _odd_bytes(data, chance):
    changed = bytearray(data)
    for _ in range(max(5, len(data) // 200)):
        changed[chance.randrange(len(data))] = chance.randrange(256)
    return bytes(changed)


def _odd_words(data, chance):
    words = re.split(rb"([\s=,]+)", data)
    for _ in range(max(5, len(words) // 100)):
        words[2 * chance.randrange((len(words) + 1) // 2)] = chance.choice(ODD_WORDS).encode()
    return b"".join(words)


@each(DEVICES)
@pytest.mark.parametrize("damage", [_odd_bytes, _odd_words])
def test_damage_is_read_without_an_error(device, damage):
    """A device's failure is a result, not an exception: a value that cannot be is a line that is not understood."""
    chance = random.Random(device.name)
    for source in device.sources():
        for _ in range(4):
            reading = read(device.platform, [CaptureFile(source.name, damage(source.data, chance))])
            assert reading.count([Disposition.UNSEEN]) == 0
            assert json.dumps(reading.state.as_json())
            assert reading.quoted_not_understood() is not None


@pytest.mark.parametrize(
    ("platform", "name", "text", "line"),
    [
        ("cisco_ios", "sw1.cfg", "interface Gi1/0/1\n switchport trunk allowed vlan GUEST\nend\n", 2),
        ("cisco_ios", "sw1.cfg", "interface Gi1/0/1\n switchport trunk allowed vlan 20-10\nend\n", 2),
        ("cisco_ios", "sw1.cfg", "interface Gi1/0/1\n switchport access vlan 5000\nend\n", 2),
        ("cisco_ios", "sw1.cfg", "interface Gi1/0/1\n switchport voice vlan 4095\nend\n", 2),
        ("cisco_ios", "sw1.cfg", "interface Gi1/0/1\n switchport trunk native vlan 0\nend\n", 2),
        ("cisco_ios", "sw1.cfg", "interface Gi1/0/1.5\n encapsulation dot1Q 5000\nend\n", 2),
        ("cisco_ios", "sw1.cfg", "interface range Gi1/0/10-5\n shutdown\nend\n", 1),
        ("cisco_ios", "sw1.cfg", "interface Vlan5000\n ip address 10.0.0.1 255.255.255.0\nend\n", 1),
        ("cisco_ios", "sw1.cfg", "ip dhcp pool SHOP\n network 300.1.1.0 255.255.255.0\nend\n", 2),
        ("cisco_ios", "sw1.cfg", "ip dhcp pool SHOP\n network 10.0.0.0 255.0.255.0\nend\n", 2),
        ("cisco_ios", "ap1.cfg", "dot11 ssid Mill Guest\n vlan 5000\nend\n", 2),
        ("cisco_s300", "sw1.cfg", "interface gi1\n switchport general allowed vlan add 5000\n!\nexit\n", 2),
        ("cisco_s300", "sw1.cfg", "vlan database\nvlan 10,4095\nexit\ninterface gi1\n!\nexit\n", 2),
        ("tplink_jetstream", "sw1.cfg", "interface gigabitEthernet 1/0/1\n  switchport pvid 4095\n#\nend\n", 2),
        ("hp_procurve", "sw1.cfg", "vlan 10\n   untagged 9-5\n   exit\n", 2),
        ("hp_procurve", "sw1.cfg", "vlan 4095\n   untagged 5-9\n   exit\n", 1),
        ("hp_procurve", "sw1.cfg", "vlan 10\n   ip address 10.0.0.1 255.0.255.0\n   exit\n", 2),
        ("openwrt", "network", "config interface 'lan'\n option ipaddr '10.0.0.1'\n option netmask '255.0.255.0'\n", 3),
        (
            "openwrt",
            "network",
            "config interface 'lan'\n option ipaddr '10.0.0.300'\n option netmask '255.255.255.0'\n",
            2,
        ),
        (
            "openwrt",
            "network",
            "config bridge-vlan\n option device 'br-lan'\n option vlan '5000'\n list ports 'lan1'\n",
            3,
        ),
        ("juniper_junos", "sw1.cfg", "set vlans staff vlan-id 4095\n", 1),
        ("juniper_junos", "sw1.cfg", "set interfaces irb unit 1 family inet address 10.0.0.1/33\n", 1),
        ("juniper_junos", "sw1.cfg", "set interfaces ge-0/0/1 unit 5 vlan-id 5000\n", 1),
        ("juniper_junos", "sw1.cfg", "system {\n    services {\n        dhcp {\n            pool 10.0.0/24;\n", 4),
        ("mikrotik_routeros", "gw1.rsc", "/ip dhcp-server network\nadd address=999999 gateway=10.0.0.1\n", 2),
        ("mikrotik_routeros", "gw1.rsc", "/interface bridge port\nadd bridge=b interface=ether2 pvid=5000\n", 2),
        ("mikrotik_routeros", "gw1.rsc", "/interface vlan\nadd interface=ether2 name=v vlan-id=5000\n", 2),
        ("mikrotik_routeros", "gw1.rsc", "/interface bridge vlan\nadd bridge=b tagged=ether2 vlan-ids=5000\n", 2),
    ],
)
def test_a_value_that_cannot_be_is_a_line_that_is_not_understood(platform, name, text, line):
    """IEEE 802.1Q: a VLAN id is 1 to 4094; IPv4 octets end at 255, masks have no holes."""
    reading = read(platform, [CaptureFile(name, text.encode())])
    assert reading.lines[0].kinds[line - 1] == Disposition.NOT_UNDERSTOOD
    assert not reading.complete


def test_a_scope_of_a_network_that_is_switched_off_is_not_served():
    """Common practice, no source: a network that is off is never brought up, so nothing answers on it."""
    network = "config interface 'shop'\n option device 'eth0'\n option proto 'static'\n option ipaddr '10.0.0.1/24'\n"
    scope = "config dhcp 'shop'\n option interface 'shop'\n option start '100'\n option limit '50'\n"
    for off, prefixes in (("", ["10.0.0.0/24"]), (" option disabled '1'\n", [])):
        sources = [CaptureFile("network", (network + off).encode()), CaptureFile("dhcp", scope.encode())]
        assert list(read("openwrt", sources).state.dhcp) == prefixes


@pytest.mark.parametrize("platform", KNOWN)
def test_another_platform_s_configuration_is_read_without_an_error(platform):
    for other in KNOWN:
        device = next(corpus.devices_in(CORPUS, other))
        reading = read(platform, device.sources())
        assert reading.count([Disposition.UNSEEN]) == 0


@pytest.mark.skipif(not KNOWN, reason="there are no real configurations beside this folder")
def test_the_command_prints_a_line_a_platform(capsys, tmp_path):
    (tmp_path / "no_such_platform").mkdir()
    for platform in KNOWN[:2]:
        (tmp_path / platform).symlink_to(CORPUS / platform)
    assert corpus.main([str(tmp_path), "-v"]) == 0
    told = capsys.readouterr()
    assert "no_such_platform: no platform of this name" in told.err
    table = [line.split() for line in told.out.splitlines() if not line.startswith(" ")]
    assert [row[0] for row in table] == ["platform", *KNOWN[:2]]
