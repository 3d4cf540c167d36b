"""Generated sites: a tree of devices with a plan that mostly makes sense, and what is found there after some faults."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import strategies as st

from auditor.areas import expected_of
from auditor.plan.loader import parse
from tests.network.faults import observed_after
from tests.network.site import Site

VLANS = (1, 10, 20, 30, 40, 50)
NAMES = {1: "common", 10: "staff", 20: "guest", 30: "phones", 40: "cameras", 50: "parking"}
PLATFORMS = {
    "gateway": ("mikrotik_routeros", "cisco_ios"),
    "access": ("cisco_ios", "cisco_ios", "cisco_ios", "mikrotik_routeros"),
    "ap": ("openwrt",),
}
PORT_NAMES = {"mikrotik_routeros": "ether{}", "cisco_ios": "GigabitEthernet1/0/{}", "openwrt": "lan{}"}
RELAYS = ["192.0.2.67", "192.0.2.68"]


def prefix_of(vlan: int, host: int | None = None) -> str:
    """Return the prefix of a VLAN in generated sites, or a host's address in it."""
    return f"10.0.{vlan}.0/24" if host is None else f"10.0.{vlan}.{host}"


@st.composite
def sites(draw: st.DrawFn) -> Site:
    """Draw a site: 2 to 12 devices, 1 to 5 subnets, up to 6 faults."""
    plan = parse("plan.yaml", json.dumps(draw(plans())).encode())  # JSON is YAML, and quicker to write
    expected = expected_of(plan)
    observed, told = draw(observed_after(plan, expected))
    return Site(plan, expected, observed, told)


@st.composite
def plans(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a plan file's data."""
    return _Drawn(draw).plan()


class _Drawn:
    """A plan while it is drawn.

    Attributes:
        parent: for each device but the first the one that it hangs on.
        wants: for each device the VLANs that something on it is in.
        free: for each device the number of its next unused port.
    """

    def __init__(self, draw: st.DrawFn) -> None:
        self.draw = draw
        self.devices: dict[str, dict[str, Any]] = {}
        self.parent: dict[str, str] = {}
        self.wants: dict[str, set[int]] = {}
        self.free: dict[str, int] = {}
        self.links: list[list[str]] = []
        self.vlans: list[int] = draw(st.lists(st.sampled_from(VLANS), min_size=1, max_size=5, unique=True))

    def plan(self) -> dict[str, Any]:
        self.tree()
        subnets = {NAMES[vlan]: self.subnet(vlan) for vlan in self.vlans}
        wifi = self.wifi()
        for name, device in self.devices.items():
            self.own_ports(name, device)
            self.address(name, device)
        for child, parent in self.parent.items():
            self.tree_link(child, parent)
        for _ in range(self.one_of(0, 0, 0, 1, 2)):
            self.extra_link()
        return {
            "format": 1,
            "site": "Generated",
            "defaults": {"unlisted_ports": self.one_of("ignore", "disabled", {"access": NAMES[self.vlans[-1]]})},
            "subnets": subnets,
            "wifi": wifi,
            "devices": self.devices,
            "links": self.links,
        }

    def one_of(self, *values: Any) -> Any:
        return self.draw(st.sampled_from(values))

    def some_vlan(self) -> int:
        return int(self.draw(st.sampled_from(self.vlans)))

    def tree(self) -> None:
        count = self.draw(st.integers(2, 12))
        gateways = 2 if count > 3 and self.one_of(False, False, True) else 1
        aps = min(count - gateways, self.draw(st.integers(0, 4)))
        roles = ["gateway"] * gateways + ["access"] * (count - gateways - aps) + ["ap"] * aps
        for number, role in enumerate(roles, 1):
            name = f"{'gw' if role == 'gateway' else 'sw' if role == 'access' else 'ap'}{number}"
            hosts = [other for other, device in self.devices.items() if device["role"] != "ap"]
            if hosts:
                self.parent[name] = self.draw(st.sampled_from(hosts))
            self.devices[name] = {"role": role, "platform": self.one_of(*PLATFORMS[role]), "ports": {}}
            self.wants[name] = set()
            self.free[name] = 1

    def named(self, role: str) -> list[str]:
        return [name for name, device in self.devices.items() if device["role"] == role]

    def subnet(self, vlan: int) -> dict[str, Any]:
        entry: dict[str, Any] = {"vlan": vlan, "prefix": prefix_of(vlan)}
        dhcp = self.one_of("pool", "pool", "relay", "none", None)
        if self.draw(st.integers(0, 15)) != 0:
            router = self.draw(st.sampled_from(self.named("gateway")))
            self.wants[router].add(vlan)
            entry["gateway"] = {"on": router}
            if self.one_of(False, False, False, True):
                entry["gateway"]["shared"] = prefix_of(vlan, 254)
        elif dhcp is not None:
            dhcp = "none"
        if dhcp is not None:
            pool = f"{prefix_of(vlan, 50)}-{prefix_of(vlan, 99)}"
            entry["dhcp"] = {"none": "none", "pool": {"pool": pool}, "relay": {"relay": RELAYS[:1]}}[dhcp]
        return entry

    def wifi(self) -> dict[str, Any]:
        found = {}
        for number in range(self.draw(st.integers(0, 3)) if self.named("ap") else 0):
            on = self.draw(st.lists(st.sampled_from(self.named("ap")), min_size=1, max_size=4, unique=True))
            vlan = self.some_vlan()
            for name in on:
                self.wants[name].add(vlan)
            found[f"Air {number}"] = {"subnet": NAMES[vlan], "security": "open", "on": on}
        return found

    def address(self, name: str, device: dict[str, Any]) -> None:
        if not self.one_of(False, True):
            return
        vlan = self.some_vlan()
        self.wants[name].add(vlan)
        device["address"] = prefix_of(vlan, 10 + list(self.devices).index(name))

    def new_port(self, name: str, **entry: Any) -> str:
        port = PORT_NAMES[self.devices[name]["platform"]].format(self.free[name])
        self.free[name] += 1
        self.devices[name]["ports"][port] = entry
        return port

    def own_ports(self, name: str, device: dict[str, Any]) -> None:
        """Ports that lead to no other device of the plan."""
        if device["role"] == "gateway" and self.one_of(False, True):
            self.new_port(name, uplink="dhcp")
        for _ in range(self.draw(st.integers(0, 3)) if device["role"] != "ap" else self.one_of(0, 0, 1)):
            vlan = self.some_vlan()
            match self.one_of("access", "access", "access", "voice", "trunk", "off", "ignore"):
                case "off":
                    self.new_port(name, off=True)
                case "ignore":
                    self.new_port(name, ignore=True)
                case "trunk":
                    self.wants[name].add(vlan)
                    self.new_port(name, trunk=[NAMES[vlan]])
                case "voice" if device["platform"] == "cisco_ios" and vlan != self.vlans[0]:
                    self.wants[name] |= {vlan, self.vlans[0]}
                    self.new_port(name, access=NAMES[vlan], voice=NAMES[self.vlans[0]])
                case _:
                    self.wants[name].add(vlan)
                    self.new_port(name, access=NAMES[vlan])

    def below(self, device: str) -> set[str]:
        """Return a device and all that hang on it."""
        found = {device}
        for other, parent in self.parent.items():
            if parent in found:
                found.add(other)
        return found

    def tree_link(self, device: str, parent: str) -> None:
        """Plan both ends of a link: the VLANs that are wanted on both of its sides, or all."""
        below = self.below(device)
        inside = set[int]().union(*(self.wants[name] for name in below))
        outside = set[int]().union(*(wanted for name, wanted in self.wants.items() if name not in below))
        needed = [vlan for vlan in self.vlans if vlan in inside & outside]
        carried = self.one_of(needed, needed, self.vlans)
        if len(needed) == 1 and self.one_of(False, False, False, True):
            self.link(device, {"access": NAMES[needed[0]]}, parent, {"access": NAMES[needed[0]]})
            return
        native = self.one_of(None, None, *carried)
        ends = [self.trunk(carried, native), self.trunk(carried, native)]
        if self.draw(st.integers(0, 15)) == 0:
            ends[1] = self.trunk(self.draw(st.lists(st.sampled_from(self.vlans), unique=True)), None)
        self.link(device, ends[0], parent, ends[1])

    def extra_link(self) -> None:
        """Add a link that may close a loop."""
        hosts = [*self.named("gateway"), *self.named("access")]
        if len(hosts) > 1:
            one, other = self.draw(st.lists(st.sampled_from(hosts), min_size=2, max_size=2, unique=True))
            carried = self.draw(st.lists(st.sampled_from(self.vlans), min_size=1, unique=True))
            self.link(one, self.trunk(carried, None), other, self.trunk(carried, None))

    def trunk(self, carried: list[int], native: int | None) -> dict[str, Any]:
        entry: dict[str, Any] = {"trunk": [NAMES[vlan] for vlan in carried]}
        if carried == self.vlans and self.one_of(False, True):
            entry["trunk"] = "all"
        if native is not None:
            entry["native"] = NAMES[native]
        return entry

    def link(self, one: str, one_end: dict[str, Any], other: str, other_end: dict[str, Any]) -> None:
        ends = ((one, one_end), (other, other_end))
        self.links.append([f"{name} {self.new_port(name, **entry)}" for name, entry in ends])
