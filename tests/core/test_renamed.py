"""Settings by the names that version 0.1.0 had for them; what only looks like one stays as it is."""

from __future__ import annotations

import pytest

from auditor.core.renamed import setting_now, value_now


@pytest.mark.parametrize(
    ("before", "now"),
    [
        ("ports.7.untagged_vlan", "ports.7.untagged"),
        ("ports.GigabitEthernet1/0/7.100.tagged_vlans", "ports.GigabitEthernet1/0/7.100.tagged"),
        ("ports.lan1.voice_vlan", "ports.lan1.voice"),
        ("ports.lan1.untagged", "ports.lan1.untagged"),
        ("ports.untagged_vlan", "ports.untagged_vlan"),  # a port of that name
        ("ssids.a.untagged_vlan", "ssids.a.untagged_vlan"),
        ("hostname", "hostname"),
        ("", ""),
    ],
)
def test_a_setting_s_name(before: str, now: str):
    assert setting_now(before) == now
    assert setting_now(now) == now


def test_the_fields_of_a_whole_item():
    before = {"enabled": True, "untagged_vlan": 10, "tagged_vlans": "20,30", "voice_vlan": None}
    now = {"enabled": True, "untagged": 10, "tagged": "20,30", "voice": None}
    assert value_now("ports.7", before) == now
    assert value_now("ssids.x", before) == before
    assert value_now("ports.7.untagged", "10") == "10"
