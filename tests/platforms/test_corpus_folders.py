"""Which files of a folder of real configurations are one device's, and what the command counts of them."""

from __future__ import annotations

import pytest

from tests.platforms import corpus

IOS = "hostname sw1\ninterface Vlan10\n ip address 10.0.0.1 255.0.255.0\n standby 5 zorple 1\nend\n"
FILES = {
    "cisco_ios/01-sw.txt": IOS,
    "extra/cisco_ios/01-sw.txt": IOS,
    "openwrt/01-house/network": "config interface 'lan'\n",
    "openwrt/01-house/wireless": "config wifi-device 'radio0'\n",
    "filters/openwrt/firewall": "config defaults\n",
    "filters/openwrt/network": "config interface 'lan'\n",
    "filters/juniper_srx/01-fw.txt": "set system host-name fw1\n",
    "ipv6/vyos_edgeos/01-vyos-a.txt": "set system host-name a\n",
    "vyos_edgeos/02-natm-edge-b.txt": "set system host-name b\n",
    "operational/cisco_ios/01-show-version.txt": "uptime\n",
    "operational/linux/01.txt": "uptime\n",
    "nobody_os/01.txt": "x\n",
    ".hidden/cisco_ios/01.txt": "x\n",
}


@pytest.fixture
def folder(tmp_path):
    for name, text in FILES.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_devices_of_all_folders_are_found_and_answers_are_left_out(folder):
    known, unknown = corpus.platforms_in(folder)
    assert known == ["cisco_ios", "juniper_junos", "openwrt", "ubiquiti_edgerouter", "vyos"]
    assert unknown == ["nobody_os"]
    found = {
        (device.platform, device.name): [path.name for path in device.paths]
        for platform in known
        for device in corpus.devices_in(folder, platform)
    }
    assert found == {
        ("cisco_ios", "01-sw.txt"): ["01-sw.txt"],
        ("cisco_ios", "extra/01-sw.txt"): ["01-sw.txt"],
        ("juniper_junos", "filters/01-fw.txt"): ["01-fw.txt"],
        ("openwrt", "01-house"): ["network", "wireless"],
        ("openwrt", "filters/openwrt"): ["firewall", "network"],
        ("ubiquiti_edgerouter", "02-natm-edge-b.txt"): ["02-natm-edge-b.txt"],
        ("vyos", "ipv6/01-vyos-a.txt"): ["01-vyos-a.txt"],
    }


def test_a_row_counts_what_became_of_the_lines(folder, capsys):
    assert corpus.main([str(folder)]) == 0
    told = capsys.readouterr()
    assert told.err == "nobody_os: no platform of this name, passed over\n"
    head, *rows = told.out.splitlines()
    assert head.split() == ["platform", *" ".join(corpus.COLUMNS).split()]
    (row,) = [row.split() for row in rows if row.startswith("cisco_ios")]
    total = corpus.tally(folder, "cisco_ios")
    assert row[:3] == ["cisco_ios", "2", "10"]
    assert int(row[4]) == len(total.not_understood) >= 2
    assert row[-3:] == ["2", "of", "2"]


def test_lines_that_were_not_understood_are_counted_by_their_first_words(folder, capsys):
    assert corpus.main([str(folder), "--lines", "cisco_ios"]) == 0
    assert "     2  ip address\n" in capsys.readouterr().out
    assert corpus.main([str(folder), "--lines", "cisco_ios", "1"]) == 0
    assert "     2  ip\n" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["no_such"], ["cisco_ios", "0"], ["cisco_ios", "x"], ["cisco_ios", "1", "2"]])
def test_a_platform_or_number_that_is_none_is_refused(folder, words):
    with pytest.raises(SystemExit):
        corpus.main([str(folder), "--lines", *words])
