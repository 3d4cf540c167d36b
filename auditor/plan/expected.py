"""From a plan to what each device should be set to: the expected DeviceState, and what of it the plan leaves unsaid."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from ipaddress import IPv4Address

from pydantic import BaseModel

from auditor.core.state import (
    KEYED_AREAS,
    DeviceState,
    DhcpScope,
    Gateway,
    Management,
    Port,
    Setting,
    Ssid,
    Uplink,
    Vlan,
    fields_of,
)
from auditor.core.values import NO_VLANS, VlanSet, host_range, merge_ranges, range_text
from auditor.plan.loader import Plan
from auditor.plan.schema import Device, ManagementPlan, PortPlan, StaticUplink, Subnet, UnlistedAccess
from auditor.platforms import catalogue


@dataclass(frozen=True)
class Expected:
    """What one device should be set to.

    Attributes:
        state: the expected settings.
        unsaid: settings that the plan leaves open; their value in ``state`` means nothing.
        carries_all: trunks that must carry every subnet of the plan, and no other VLAN that the device has.
        uplinks: ports that lead to the carrier.
        ignored_ports: ports that are not judged.
        routed: VLANs of the subnets that it routes.
        address: the address by which it is managed.
        unlisted: what ports must be that the plan does not list; ``None`` if they are not judged.
        passphrases: by Wi-Fi name, the environment variable that holds its passphrase.
        isolation: ``isolation.<from>.<to>`` and ``isolation.<from>.devices``: that hosts of an isolated subnet that it
            routes open no connection to another subnet of the plan, nor to any address of a device.
    """

    device: str
    role: str
    platform: str
    state: DeviceState
    unsaid: frozenset[Setting] = frozenset()
    carries_all: frozenset[str] = frozenset()
    uplinks: frozenset[str] = frozenset()
    ignored_ports: frozenset[str] = frozenset()
    routed: frozenset[int] = frozenset()
    address: str | None = None
    unlisted: Port | None = None
    passphrases: dict[str, str] = field(default_factory=dict)
    isolation: tuple[Setting, ...] = ()

    @cached_property
    def settings(self) -> tuple[Setting, ...]:
        """Every planned setting: each that has a value and is not left open."""
        return tuple(self._settings())

    def _settings(self) -> Iterator[Setting]:
        if self.state.hostname:
            yield Setting("hostname")
        for area in KEYED_AREAS:
            for key, item in getattr(self.state, area).items():
                place = Setting(area, str(key))
                filled = [Setting(area, str(key), name) for name in fields_of(area) if is_there(getattr(item, name))]
                judged = [setting for setting in filled if setting not in self.unsaid]
                yield from judged or [place]
        for name in fields_of("management"):
            setting = Setting("management", "", name)
            if setting not in self.unsaid:
                yield setting
        yield from self.isolation


def is_there(value: object) -> bool:
    """Return whether a setting has a value: neither none, nor an empty set."""
    return value is not None and value not in ((), {}, NO_VLANS)


def expected_of(plan: Plan) -> dict[str, Expected]:
    """Return what each device of a plan should be set to, in the plan's order."""
    return {name: _Builder(plan, name).build() for name in plan.data.devices}


class _Builder:
    def __init__(self, plan: Plan, name: str) -> None:
        self.plan = plan
        self.name = name
        self.device: Device = plan.data.devices[name]
        self.platform = catalogue.get(self.device.platform)
        self.subnets = plan.data.subnets
        self.unsaid: set[Setting] = set()
        self.carries_all: set[str] = set()
        self.vlans: set[int] = set()

    def build(self) -> Expected:
        ports = {name: self.port(name, port) for name, port in self.own_ports() if not port.ignore}
        gateways = self.gateways()
        dhcp = self.dhcp()
        ssids = self.ssids()
        uplinks = {name: self.uplink(port) for name, port in self.own_ports() if port.uplink}
        unlisted = self.unlisted()
        state = DeviceState(
            hostname=self.device.hostname or self.name,
            vlans={vid: self.vlan(vid) for vid in sorted(self.vlans)},
            ports=ports,
            gateways=gateways,
            dhcp=dhcp,
            ssids=ssids,
            uplinks=uplinks,
            management=self.management(),
        )
        return Expected(
            device=self.name,
            role=self.device.role,
            platform=self.device.platform,
            state=self.without_what_it_lacks(state),
            unsaid=frozenset(self.unsaid),
            carries_all=frozenset(self.carries_all),
            uplinks=frozenset(uplinks),
            ignored_ports=frozenset(name for name, port in self.own_ports() if port.ignore),
            address=str(self.device.address) if self.device.address else None,
            routed=frozenset(subnet.vlan for _, subnet in self.routed()),
            unlisted=unlisted,
            passphrases={
                ssid: wifi.passphrase.env
                for ssid, wifi in self.plan.data.wifi.items()
                if self.name in wifi.on and wifi.passphrase
            },
            isolation=tuple(self.isolation()),
        )

    def own_ports(self) -> Iterable[tuple[str, PortPlan]]:
        return self.plan.ports.get(self.name, {}).items()

    def open(self, area: str, key: object, *names: str) -> None:
        """Say that the plan leaves settings open."""
        self.unsaid.update(Setting(area, str(key), name) for name in names)

    def vid(self, subnet: str) -> int:
        vid = self.subnets[subnet].vlan
        self.vlans.add(vid)
        return vid

    def vlan(self, vid: int) -> Vlan:
        if vid in self.platform.vlans.lasting_names:
            self.open("vlans", vid, "name")
            return Vlan()
        found = self.plan.subnet_of(vid)
        return Vlan(name=found[0] if found else None)

    def port(self, name: str, port: PortPlan) -> Port:
        if port.description is None:
            self.open("ports", name, "description")
        if port.off:
            self.open("ports", name, "mode", "untagged", "tagged", "voice")
            return Port(enabled=False, description=port.description)
        if port.uplink:
            self.open("ports", name, "untagged", "tagged", "voice")
            return Port(mode="routed", description=port.description)
        if port.access:
            return self.access_port(port)
        names = list(self.subnets) if port.trunk == "all" else list(port.trunk or [])
        if port.trunk == "all":
            self.carries_all.add(name)
        native = self.vid(port.native) if port.native else None
        tagged = VlanSet(self.vid(subnet) for subnet in names).but(native)
        return Port(mode="trunk", untagged=native, tagged=tagged, description=port.description)

    def access_port(self, port: PortPlan) -> Port:
        assert port.access is not None
        untagged = self.vid(port.access)
        voice = self.vid(port.voice) if port.voice else None
        if voice and Setting("ports", "", "voice") in self.platform.lacks:
            return Port(mode="trunk", untagged=untagged, tagged=VlanSet([voice]), description=port.description)
        return Port(mode="access", untagged=untagged, voice=voice, description=port.description)

    def unlisted(self) -> Port | None:
        rule = self.device.unlisted_ports or self.plan.data.defaults.unlisted_ports
        if isinstance(rule, UnlistedAccess):
            return Port(mode="access", untagged=self.vid(rule.access))
        return Port(enabled=False) if rule == "disabled" else None

    def uplink(self, port: PortPlan) -> Uplink:
        if isinstance(port.uplink, StaticUplink):
            return Uplink(method="static", address=port.uplink.static)
        return Uplink.model_validate({"method": port.uplink})

    def routed(self) -> Iterator[tuple[str, Subnet]]:
        """Yield the subnets that this device routes."""
        return ((name, s) for name, s in self.subnets.items() if self.plan.gateway_of(s) == self.name)

    def gateways(self) -> dict[int, Gateway]:
        addresses: dict[int, set[str]] = {}
        shared: dict[int, tuple[str, ...]] = {}
        relay: dict[int, tuple[str, ...]] = {}
        for name, subnet in self.routed():
            vid = self.vid(name)
            addresses[vid] = {f"{gateway_address(subnet)}/{subnet.prefix.prefixlen}"}
            shared[vid] = (str(subnet.gateway.shared),) if subnet.gateway.shared else ()
            relay[vid] = tuple(sorted(str(server) for server in subnet.dhcp.relay)) if subnet.dhcp else ()
        own = self.device.address
        for name, subnet in self.subnets.items():
            if own and own in subnet.prefix:
                addresses.setdefault(self.vid(name), set()).add(f"{own}/{subnet.prefix.prefixlen}")
        return {
            vid: Gateway(
                addresses=tuple(sorted(found)),
                shared_addresses=shared.get(vid, ()),
                relay_to=relay.get(vid, ()),
            )
            for vid, found in addresses.items()
        }

    def isolation(self) -> Iterator[Setting]:
        """Yield what isolates the subnets that this device routes: from each other subnet, and from devices.

        A subnet that is itself called ``devices`` shares one setting with these.
        """
        for name, subnet in self.routed():
            if subnet.isolated:
                others = [other for other in self.subnets if other not in (name, "devices")]
                yield from (Setting("isolation", name, other) for other in [*others, "devices"])

    def dhcp(self) -> dict[str, DhcpScope]:
        defaults = self.plan.data.defaults
        scopes = {}
        for _, subnet in self.routed():
            plan = subnet.dhcp
            if plan is None or not plan.pool:
                continue
            dns = plan.dns if plan.dns is not None else defaults.dns
            domain = plan.domain if plan.domain is not None else defaults.domain
            lease = plan.lease if plan.lease is not None else defaults.lease
            key = str(subnet.prefix)
            for name, value in (("dns", dns), ("domain", domain), ("lease_seconds", lease)):
                if value is None:
                    self.open("dhcp", key, name)
            scopes[key] = DhcpScope(
                pools=tuple(range_text(first, last) for first, last in merge_ranges(plan.pool)),
                gateway=str(plan.gateway or subnet.gateway.shared or gateway_address(subnet)),
                dns=tuple(sorted(str(server) for server in dns)) if dns is not None else None,
                domain=domain,
                lease_seconds=lease,
                options=dict(sorted(plan.options.items())),
                reservations={str(address): mac for address, mac in sorted(plan.reservations.items())},
            )
        return scopes

    def ssids(self) -> dict[str, Ssid]:
        found = {}
        for name, wifi in self.plan.data.wifi.items():
            if self.name not in wifi.on:
                continue
            if wifi.bands is None:
                self.open("ssids", name, "bands")
            if wifi.passphrase is None:
                self.open("ssids", name, "passphrase_matches")
            found[name] = Ssid(
                vlan=self.vid(wifi.subnet),
                security=wifi.security,
                bands=tuple(sorted(wifi.bands)) if wifi.bands is not None else None,
                hidden=wifi.hidden,
                client_isolation=wifi.client_isolation,
                passphrase_matches=True if wifi.passphrase else None,
            )
        return found

    def management(self) -> Management:
        own = self.device.management or ManagementPlan()
        common = self.plan.data.management or ManagementPlan()
        values: dict[str, object] = {}
        for name in fields_of("management"):
            value = getattr(own, name)
            if value is None:
                value = getattr(common, name)
            if value is None or Setting("management", "", name) in self.platform.lacks:
                self.open("management", "", name)
                continue
            values[name] = tuple(sorted(set(value))) if isinstance(value, list) else value
        return Management.model_validate(values)

    def without_what_it_lacks(self, state: DeviceState) -> DeviceState:
        """Take out the settings that the dialect has no notion of."""
        for lacking in self.platform.lacks:
            if lacking.area not in KEYED_AREAS or not lacking.field:
                continue
            items: dict[object, BaseModel] = getattr(state, lacking.area)
            bare = KEYED_AREAS[lacking.area].model_fields[lacking.field].default
            for key in items:
                self.open(lacking.area, key, lacking.field)
            changed = {key: item.model_copy(update={lacking.field: bare}) for key, item in items.items()}
            state = state.model_copy(update={lacking.area: changed})
        return state


def gateway_address(subnet: Subnet) -> IPv4Address:
    """Return a subnet's gateway address: the planned one, or its first host."""
    return subnet.gateway.address or host_range(subnet.prefix)[0]
