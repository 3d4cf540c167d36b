"""What a bridge lists by port, relays that share their servers, and what a group of DHCP scopes says for all of them.

How VyOS behaves: its user guide, from memory.
"""

from __future__ import annotations

from typing import Any

import pytest

from auditor.areas import read
from auditor.reading.source import CaptureFile

PORT = "set interfaces bridge br0 member interface"


def state(*lines: str) -> dict[str, Any]:
    """Return the state of a device with these lines, which must all be understood."""
    reading = read("vyos", [CaptureFile("running.cfg", "".join(f"{line}\n" for line in lines).encode())])
    assert reading.complete
    return reading.state.as_json()


def vlans_of(found: dict[str, Any], port: str) -> tuple[str, int | str | None, str]:
    port_ = found["ports"][port]
    return port_["mode"], port_["untagged"], port_["tagged"]


@pytest.mark.parametrize(
    ("lines", "carried"),
    [
        (["allowed-vlan 10", "allowed-vlan 20-22"], ("trunk", None, "10,20-22")),
        (["allowed-vlan 10", "native-vlan 20"], ("trunk", 20, "10")),
        (["allowed-vlan 20", "native-vlan 20"], ("access", 20, "")),
        (["native-vlan 20"], ("access", 20, "")),
    ],
)
def test_a_port_s_own_list_counts_where_the_bridge_keeps_vlans_apart(lines: list[str], carried: tuple[str, int, str]):
    listed = [f"{PORT} eth1 {line}" for line in lines]
    assert vlans_of(state("set interfaces bridge br0 enable-vlan", *listed), "eth1") == carried
    plain = state(*listed)
    assert vlans_of(plain, "eth1") == ("access", "bridge br0", "")
    assert plain["vlans"] == {"bridge br0": {"name": None}}


@pytest.mark.parametrize(
    ("lines", "there"),
    [
        ([f"{PORT} eth1 allowed-vlan 10-12"], []),
        ([f"{PORT} eth1 allowed-vlan 10-12", f"{PORT} eth2 allowed-vlan 12-14"], ["12"]),
        ([f"{PORT} eth1 allowed-vlan 10-12", f"{PORT} eth2 native-vlan 11"], ["11"]),
        ([f"{PORT} eth1 allowed-vlan 10-12", "set interfaces bridge br0 vif 10"], ["10"]),
        ([f"{PORT} eth1 allowed-vlan 2-4094", f"{PORT} eth2 allowed-vlan 2-4094"], []),
        ([f"{PORT} eth1 allowed-vlan 2-4094", f"{PORT} eth2 allowed-vlan 12"], ["12"]),
    ],
)
def test_a_vlan_that_only_one_port_lets_pass_leads_nowhere(lines: list[str], there: list[str]):
    assert sorted(state("set interfaces bridge br0 enable-vlan", *lines)["vlans"]) == there


def test_who_relays_and_where_to_are_said_apart():
    """An interface that the server itself is on only sends what the others relay."""
    found = state(
        "set service dhcp-relay interface eth1.10",
        "set service dhcp-relay interface eth1.20",
        "set service dhcp-relay interface eth1.77",
        "set service dhcp-relay server 10.0.10.67",
        "set interfaces ethernet eth1 vif 10 address 10.0.10.1/24",
        "set interfaces ethernet eth1 vif 20 address 10.0.20.1/24",
        "set interfaces ethernet eth1 vif 30 address 10.0.30.1/24",
    )
    relayed = {vid: gateway["relay_to"] for vid, gateway in found["gateways"].items()}
    assert relayed == {"10": [], "20": ["10.0.10.67"], "30": []}
    assert vlans_of(found, "eth1") == ("trunk", None, "10,20,30")


NETWORK = "set service dhcp-server shared-network-name"


@pytest.mark.parametrize("off", [False, True])
def test_what_a_group_of_scopes_says_holds_for_its_scopes_and_no_others(off: bool):
    found = state(
        f"{NETWORK} A option domain-name a.example",
        f"{NETWORK} A option name-server 192.0.2.53",
        f"{NETWORK} A subnet 10.0.1.0/24 range 0 start 10.0.1.10",
        f"{NETWORK} A subnet 10.0.1.0/24 range 0 stop 10.0.1.20",
        f"{NETWORK} A subnet 10.0.2.0/24 option domain-name b.example",
        f"{NETWORK} B subnet 10.0.3.0/24 lease 600",
        *([f"{NETWORK} A disable"] if off else []),
    )["dhcp"]
    told = {prefix: (scope["domain"], scope["dns"], scope["lease_seconds"]) for prefix, scope in found.items()}
    of_a = {
        "10.0.1.0/24": ("a.example", ["192.0.2.53"], 86400),
        "10.0.2.0/24": ("b.example", ["192.0.2.53"], 86400),
    }
    assert told == {**({} if off else of_a), "10.0.3.0/24": (None, None, 600)}


def test_an_address_may_be_kept_out_of_a_range():
    found = state(
        f"{NETWORK} A subnet 10.0.1.0/24 exclude 10.0.1.15",
        f"{NETWORK} A subnet 10.0.1.0/24 range 0 start 10.0.1.10",
        f"{NETWORK} A subnet 10.0.1.0/24 range 0 stop 10.0.1.20",
    )
    assert found["dhcp"]["10.0.1.0/24"]["pools"] == ["10.0.1.10-10.0.1.14", "10.0.1.16-10.0.1.20"]
