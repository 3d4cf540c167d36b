"""Ranges of more ports than any device has name no ports; VLAN interfaces go up to 4094 (IEEE 802.1Q)."""

from __future__ import annotations

import pytest

from auditor.platforms.names import names_of


@pytest.mark.parametrize(
    ("platform", "text"),
    [
        ("cisco_ios", "GigabitEthernet1/0/1-4000"),
        ("arista_eos", "Management1-4094"),
        ("hp_procurve", "1-2000"),
        ("cisco_s300", "gigabitethernet1/1-1025"),
    ],
)
def test_a_range_of_more_ports_than_any_device_has(platform: str, text: str):
    book = names_of(platform)
    for names in (book.names, book.planned):
        with pytest.raises(ValueError, match="longer than any device has ports"):
            names(text)


def test_a_stack_has_room_and_vlan_interfaces_have_their_own():
    assert len(names_of("arista_eos").names("Ethernet1-1024")) == 1024
    assert len(names_of("arista_eos").names("Vlan1-4094")) == 4094


@pytest.mark.parametrize(
    ("platform", "stem"), [("juniper_junos", "ae"), ("cisco_ios", "Port-channel"), ("vyos", "bond")]
)
def test_a_number_that_nobody_counts_up_to_is_in_no_name(platform: str, stem: str):
    """Python refuses to count up to a number of more than 4,300 digits."""
    with pytest.raises(ValueError, match="no name of an interface"):
        names_of(platform).names(stem + "9" * 4500)
    assert names_of("openwrt").names("enx000000530001") == ["enx000000530001"]
