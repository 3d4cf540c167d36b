"""Generated DeviceStates: everything that a platform says its dialect can carry, and nothing else.

What that is stands in ``fixtures/platforms/<name>/round_trip.yaml``, a list of profiles, one a role:

    role: access
    ports: [names]                what ports may be called
    modes: [access, trunk, …]     what they may be
    port_settings: [off, voice, description]    no_native: untagged frames of a trunk are in no VLAN that has a number
    voice: marked                 a voice VLAN is a tagged one with a mark, so no trunk may look like such a port
    voice: one                    all ports that have a voice VLAN have the same
    vlans: declared | by_use      whether a VLAN is there by being declared or by being used; names: true|false,
                                  or unique where VLANs are known by their names
    gateways: any | trunk | native | none    which VLANs may have a layer-3 interface
    gateway_settings: [several, leased, shared, relay]    same_relay: all that relay do so to the same servers
    dhcp: {pools: 1, lease_step: 60, fields: [domain, options, reservations]}    one_domain: the same for all scopes
                                  endless: leases may be without an end; options: the numbers that are tried
    ssids: {securities: [...], bands: [...], settings: [hidden, isolation, off, one_a_vlan, wired]}
                                  wired: only VLANs that some port carries
    uplinks: [dhcp, pppoe, static]
    management: [ntp, dns, syslog, snmp, ssh, telnet, http, https]    one_syslog, two_dns: no more of them
"""

from __future__ import annotations

from ipaddress import IPv4Network
from typing import Any

from hypothesis import strategies as st

from auditor.core.domains import numbers
from auditor.core.state import DeviceState, DhcpScope, Gateway, Management, Port, Ssid, Uplink, Vlan
from auditor.core.values import NO_VLANS, VlanSet
from auditor.platforms import catalogue
from tests.conftest import FIXTURES, from_yaml

Profile = dict[str, Any]
_KEYS = {
    *("role", "ports", "modes", "port_settings", "voice", "vlans", "names", "gateways", "gateway_settings"),
    *("dhcp", "ssids", "uplinks", "management"),
}

_WORD = st.from_regex(r"[a-z][a-z0-9-]{0,14}", fullmatch=True).filter(lambda text: not text.endswith("-"))
_TEXT = (
    st.text(st.characters(min_codepoint=0x20, max_codepoint=0x24F, categories=("L", "N", "P", "S", "Zs")), max_size=24)
    .map(lambda text: " ".join(text.split()))
    .filter(lambda text: 1 <= len(text.encode()) <= 32 and not text.endswith("\\") and text[0] not in "-<")
)
_SERVERS = st.lists(st.integers(1, 250).map(lambda n: f"192.0.2.{n}"), max_size=3, unique=True).map(
    lambda found: tuple(sorted(found))
)
OPTIONS = {
    42: "192.0.2.42",
    43: "0104c0000263",
    44: "192.0.2.44,192.0.2.45",
    66: "",
    67: "",
    150: "192.0.2.150",
    252: "",
}
"""DHCP options that the law is tried on, by their number (RFC 2132), with their value where it is no word."""
ENDLESS = 4294967295
"""A lease without an end (RFC 2131, section 3.3)."""
_MACS = st.integers(0, 255).map(lambda n: f"00:00:5e:00:53:{n:02x}")


def profiles() -> list[Any]:
    """Return (platform, profile) of every platform, as pytest parameters."""
    found = []
    for name in catalogue.names():
        file = FIXTURES / "platforms" / name / "round_trip.yaml"
        assert file.is_file(), f"{file} is missing: it says which states {name} can carry"
        for profile in from_yaml(file.read_text()):
            unknown = set(profile) - _KEYS
            assert not unknown, f"{file}: {', '.join(sorted(unknown))}: known are {', '.join(sorted(_KEYS))}"
            found.append((name, profile))
    return found


def _some_of(names: list[str]) -> st.SearchStrategy[tuple[str, ...]]:
    return st.sets(st.sampled_from(names), min_size=1).map(lambda found: tuple(sorted(found)))


@st.composite
def states(draw: st.DrawFn, profile: Profile) -> DeviceState:
    """Draw a state that a profile can carry."""
    vids = sorted(draw(st.sets(st.integers(2, 1000), min_size=1, max_size=6)))
    ports = _ports(draw, profile, vids)
    used = {vid for port in ports.values() for vid in (*port.tagged, port.untagged) if vid}
    gateways = _gateways(draw, profile, vids, ports)
    wired = "wired" in profile.get("ssids", {}).get("settings", ())
    ssids = _ssids(draw, profile, sorted(used) if wired else vids) if "ssids" in profile else {}
    uplinks = {
        name: _uplink(draw, profile)
        for name, port in ports.items()
        if port.mode == "routed" and port.enabled and profile.get("uplinks")
    }
    if profile["vlans"] == "by_use":
        used |= set(gateways)
        names = {
            vid: Vlan() for vid in sorted(used | {ssid.vlan for ssid in ssids.values() if isinstance(ssid.vlan, int)})
        }
    else:
        names = {vid: Vlan(name=draw(_WORD) if profile.get("names") else None) for vid in vids}
        if profile.get("names") == "unique":
            names = {vid: Vlan(name=f"{vlan.name}-{vid}") for vid, vlan in names.items()}
    return DeviceState(
        hostname=draw(_WORD),
        vlans=names,
        ports=ports,
        gateways=gateways,
        dhcp=_dhcp(draw, profile, gateways) if "dhcp" in profile else {},
        ssids=ssids,
        uplinks=uplinks,
        management=_management(draw, profile["management"]),
    )


def _ports(draw: st.DrawFn, profile: Profile, vids: list[int]) -> dict[str, Port]:
    names = draw(st.lists(st.sampled_from(profile["ports"]), min_size=1, max_size=len(profile["ports"]), unique=True))
    ports = {}
    free = list(vids)
    for name in names:
        mode = draw(st.sampled_from(profile["modes"]))
        mine = free if profile["gateways"] == "trunk" else vids
        if mode == "trunk" and not mine:
            mode = "routed"
        ports[name] = _port(draw, profile, mode, mine)
        free = [vid for vid in free if vid not in ports[name].tagged and vid != ports[name].untagged]
    match profile.get("voice"):
        case "marked":
            return _told_apart(ports)
        case "one":
            return _of_one_voice(ports)
    return ports


def _of_one_voice(ports: dict[str, Port]) -> dict[str, Port]:
    """Return the ports with no voice VLAN but that of the first that has one."""
    one = next((port.voice for port in ports.values() if port.voice), None)
    return {
        name: port if port.voice == one else port.model_copy(update={"voice": None}) for name, port in ports.items()
    }


def _told_apart(ports: dict[str, Port]) -> dict[str, Port]:
    """Return the ports without voice VLANs that are all that some trunk carries beside its untagged one."""
    taken = {min(port.tagged) for port in ports.values() if port.untagged and len(port.tagged) == 1}
    return {
        name: port.model_copy(update={"voice": None}) if port.voice in taken else port for name, port in ports.items()
    }


def _port(draw: st.DrawFn, profile: Profile, mode: str, vids: list[int]) -> Port:
    settings = profile.get("port_settings", ())
    untagged = None
    tagged: VlanSet = NO_VLANS
    if mode in ("access", "dynamic"):
        untagged = draw(st.sampled_from(vids))
    elif mode == "trunk":
        untagged = draw(st.none() | st.sampled_from(vids)) if "no_native" not in settings else None
        others = [vid for vid in vids if vid != untagged]
        tagged = VlanSet(draw(st.sets(st.sampled_from(others), min_size=1))) if others else NO_VLANS
        if not tagged:
            untagged, tagged = None, VlanSet(vids)
    others = [vid for vid in vids if vid != untagged]
    voice = draw(st.none() | st.sampled_from(others)) if "voice" in settings and mode == "access" and others else None
    return Port(
        enabled=draw(st.booleans()) if "off" in settings else True,
        mode=mode,
        untagged=untagged,
        tagged=tagged,
        voice=voice,
        description=draw(st.none() | _TEXT) if "description" in settings else None,
    )


def _net(vid: int) -> IPv4Network:
    return IPv4Network(f"10.{vid // 250}.{vid % 250}.0/24")


def _gateways(draw: st.DrawFn, profile: Profile, vids: list[int], ports: dict[str, Port]) -> dict[int, Gateway]:
    settings = profile.get("gateway_settings", ())
    match profile["gateways"]:
        case "any":
            allowed = vids
        case "trunk":
            allowed = sorted(numbers(v for p in ports.values() if p.enabled for v in (*p.tagged, p.untagged)))
        case "native":
            allowed = sorted(numbers(p.untagged for p in ports.values() if p.enabled))[:1]
        case _:
            allowed = []
    least = 1 if profile["gateways"] == "native" else 0  # there is seldom one to choose
    chosen = draw(st.sets(st.sampled_from(allowed), min_size=least)) if allowed else set()
    found = {}
    same = draw(_SERVERS) if "same_relay" in settings else ()
    for vid in sorted(chosen):
        base = _net(vid)[0]
        count = draw(st.integers(1, 2)) if "several" in settings else 1
        leased = draw(st.integers(0, 4)) == 0 if "leased" in settings else False
        shared = draw(st.booleans()) if "shared" in settings and not leased else False
        relay = draw(_SERVERS) if "relay" in settings else draw(st.sampled_from([(), same]))
        found[vid] = Gateway(
            addresses=("dhcp",) if leased else tuple(sorted(f"{base + 1 + i}/24" for i in range(count))),
            shared_addresses=(str(base + 254),) if shared else (),
            relay_to=relay,
        )
    return found


def _dhcp(draw: st.DrawFn, profile: Profile, gateways: dict[int, Gateway]) -> dict[str, DhcpScope]:
    limits = profile["dhcp"]
    fields = limits.get("fields", ())
    one = draw(_WORD) + ".example" if "one_domain" in fields else None
    scopes = {}
    for vid, gateway in gateways.items():
        if gateway.addresses == ("dhcp",) or not draw(st.booleans()):
            continue
        base = _net(vid)[0]
        cuts = sorted(draw(st.sets(st.integers(10, 250), min_size=2, max_size=2 * limits["pools"])))
        pools = [(a, b) for a, b in zip(cuts[::2], cuts[1::2], strict=False)]
        pools = [p for i, p in enumerate(pools) if i == 0 or p[0] > pools[i - 1][1] + 1]
        numbers = draw(st.sets(st.sampled_from(limits.get("options", sorted(OPTIONS))))) if "options" in fields else ()
        options = {number: OPTIONS[number] or draw(_WORD) for number in sorted(numbers)}
        endless = draw(st.integers(0, 4)) == 0 if "endless" in fields else False
        kept = st.sampled_from([str(base + n) for n in range(2, 10)])
        reserved = draw(st.dictionaries(kept, _MACS, max_size=2))
        scopes[str(_net(vid))] = DhcpScope(
            pools=tuple(f"{base + a}-{base + b}" for a, b in pools),
            gateway=str(base + draw(st.integers(1, 3))),
            dns=draw(_SERVERS.filter(bool)),
            domain=(one if "one_domain" in fields else draw(_WORD) + ".example") if "domain" in fields else None,
            lease_seconds=ENDLESS if endless else limits["lease_step"] * draw(st.integers(1, 5000)),
            options=options,
            reservations=dict(sorted(reserved.items())) if "reservations" in fields else {},
        )
    return scopes


def _ssids(draw: st.DrawFn, profile: Profile, vids: list[int]) -> dict[str, Ssid]:
    limits = profile["ssids"]
    settings = limits.get("settings", ())
    found = {}
    free = list(vids)
    for name in draw(st.lists(_TEXT, max_size=3, unique=True)):
        if not free:
            break
        on = draw(st.booleans()) if "off" in settings else True
        found[name] = Ssid(
            vlan=draw(st.sampled_from(free)),
            security=draw(st.sampled_from(limits["securities"])),
            bands=draw(_some_of(limits["bands"])) if "bands" in limits else None,
            hidden=draw(st.booleans()) if "hidden" in settings else False,
            client_isolation=draw(st.booleans()) if "isolation" in settings else False,
            enabled=on,
        )
        if "one_a_vlan" in settings:
            free = [vid for vid in free if vid != found[name].vlan]
    return found


def _uplink(draw: st.DrawFn, profile: Profile) -> Uplink:
    method = draw(st.sampled_from(profile["uplinks"]))
    return Uplink(method=method, address="203.0.113.2/30" if method == "static" else None)


def _management(draw: st.DrawFn, known: list[str]) -> Management:
    ways = [way for way in ("ssh", "telnet", "http", "https") if way in known]
    return Management(
        ntp=draw(_SERVERS)[: 2 if "two_ntp" in known else 3] if "ntp" in known else (),
        dns=draw(_SERVERS)[: 2 if "two_dns" in known else 3] if "dns" in known else (),
        syslog=draw(_SERVERS)[: 1 if "one_syslog" in known else 3] if "syslog" in known else (),
        snmp=draw(st.booleans()) if "snmp" in known else False,
        logins=tuple(sorted(draw(st.sets(st.sampled_from(ways))))) if ways else (),
    )
