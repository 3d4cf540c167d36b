"""All rows of a device put together: its state, the evidence for it, and what the capture cannot show."""

from __future__ import annotations

from dataclasses import dataclass

from auditor.core.state import DeviceState, Setting, Vlan
from auditor.platforms.definition import Platform, any_of
from auditor.platforms.names import vlan_name
from auditor.reading.dialect import Dialect
from auditor.reading.resolve.dhcp import Dhcp
from auditor.reading.resolve.ineffective import ineffective, lower_layer_down
from auditor.reading.resolve.interfaces import Interfaces
from auditor.reading.resolve.layer2 import Layer2
from auditor.reading.resolve.layer3 import Layer3
from auditor.reading.resolve.ports import Ports
from auditor.reading.resolve.read_rows import Evidence, ReadingRemark
from auditor.reading.resolve.relays import relay
from auditor.reading.resolve.system import System
from auditor.reading.resolve.wifi import Passphrase, Wifi
from auditor.reading.resolve.wifi_interfaces import WifiInterfaces
from auditor.reading.row_models import ReadRows, RowDefaults
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.source import Ref


@dataclass(frozen=True, slots=True)
class Resolved:
    """What the rows of a capture amount to.

    Attributes:
        state: the observed settings.
        evidence: where each was observed.
        not_shown: areas, or fields of them, that this capture cannot show, with what to do about it.
        born_as: names that ports were born with, and their names now.
        passphrases: by Wi-Fi name, what is stored; secret.
        ineffective: ports and gateways that are configured and have no effect.
        lower_layer_down: ports and gateways that are on themselves and down by a lower layer (RFC 2863).
        vlans_off: VLANs that a line switches off.
        offered: by VRF, the ways to log in that are open there, and ``snmp``.
        vrfs: by address, the VRF that it is in; the others are in ``default``.
        routing: whether it passes packets on between its layer-3 interfaces.
        remarks: what was read and is no setting.
        unknown: lines that say something which nothing here gives a meaning, as the name of a VLAN that is not there.
    """

    state: DeviceState
    evidence: Evidence
    not_shown: dict[Setting, str]
    born_as: dict[str, str]
    passphrases: dict[str, list[Passphrase]]
    ineffective: frozenset[Setting]
    lower_layer_down: frozenset[Setting]
    vlans_off: frozenset[int]
    offered: dict[str, set[str]]
    vrfs: dict[str, str]
    routing: bool
    remarks: list[ReadingRemark]
    unknown: list[Ref]


def resolve(dialect: Dialect, rows: ReadRows, headers: list[str], defaults: RowDefaults) -> Resolved:
    """Put rows together.

    Args:
        dialect: the platform that they were read as.
        rows: typed rows by feature.
        headers: the first lines of all sections, which tell what the capture shows.
        defaults: what lines that are not there mean in this capture.
    """
    platform = dialect.platform
    evidence = Evidence()
    system = System(rows.system, defaults["system"])
    interfaces = Interfaces(dialect.names, rows, defaults["interface"])
    interfaces.relay(rows.system)
    wifi_rows = WifiInterfaces(rows, defaults)
    relay(interfaces, rows.relay)
    layer2 = Layer2(platform, interfaces, rows, wifi_rows.tagging())
    layer3 = Layer3(interfaces, layer2)
    ports = Ports(platform, interfaces, layer2, system)
    dhcp = Dhcp(platform, rows, layer3, defaults["dhcp_scope"], {"dns": system.dns, "ntp": system.ntp})
    wifi = Wifi(dialect, wifi_rows, interfaces, layer2)
    evidence.note("hostname", "", system, {"": ("hostname",)})
    state = DeviceState(
        hostname=system.hostname or None,
        vlans=_vlans(platform, layer2, interfaces, evidence),
        ports=ports.build(evidence),
        gateways=layer3.gateways(evidence, system.unused()),
        dhcp=dhcp.build(evidence, system.dhcp_service),
        ssids=wifi.build(evidence),
        uplinks=layer3.uplinks(evidence),
        management=system.management(evidence, interfaces.all(), layer3.up),
    )
    for vid in state.gateways:
        evidence.note("gateways", vid, system, {"": ("routing",)})
    return Resolved(
        state=state,
        evidence=evidence,
        not_shown={**_not_shown(platform, headers, system, layer2, ports), **wifi.not_shown},
        born_as={i.alias: i.name for i in interfaces.devices.values() if i.alias},
        passphrases=wifi.passphrases,
        ineffective=ineffective(platform, interfaces, layer2, system),
        lower_layer_down=lower_layer_down(interfaces, layer2),
        vlans_off=frozenset(layer2.off),
        offered=system.offered,
        vrfs=layer3.vrfs(),
        routing=system.routing,
        remarks=dhcp.remarks,
        unknown=[*interfaces.unknown(), *layer2.names.unknown(), *ports.unknown(), *dhcp.unknown()],
    )


def _vlans(platform: Platform, layer2: Layer2, interfaces: Interfaces, evidence: Evidence) -> dict[int, Vlan]:
    """Return the VLANs that are declared, and those that exist by being used."""
    found = {}
    for vid, declared in layer2.declared.items():
        found[vid] = Vlan(name=declared.name or vlan_name(platform.vlans, vid))
        evidence.note("vlans", vid, declared.row, {"": ("vlan_ids", "index")})
        evidence.note("vlans", vid, declared.named_by, {"name": ("name",)})
    for interface in interfaces.devices.values():
        vid = int(interface.vid or 0)
        if vid in found and interface.vlan_name:
            found[vid] = Vlan(name=interface.vlan_name)
            evidence.note("vlans", vid, interface, {"name": ("vlan_name",)})
    for interface in interfaces.devices.values():
        uses: dict[FieldName, str] = {"vlan_tag": interface.vlan_tag}
        if platform.vlans.by_use and interface.admits != "tagged" and layer2.counts(interface):
            uses["untagged_vlan"] = interface.untagged_vlan
        for name, told in uses.items():
            vid = int(told or 0)
            if vid and vid not in found:
                found[vid] = Vlan()
                evidence.note("vlans", vid, interface, {"": (name,)})
    for vid, ports in layer2.passing().items() if platform.vlans.by_use else ():
        if vid not in found:
            found[vid] = Vlan()
            for port in ports:
                evidence.note("vlans", vid, port, {"": ("tagged_vlans",)})
    return found


def _not_shown(
    platform: Platform, headers: list[str], system: System, layer2: Layer2, ports: Ports
) -> dict[Setting, str]:
    found = {}
    table = platform.vlans
    known = {*layer2.declared, *layer2.off}
    shown = system.vlans_shown or not table.shown_by or bool(table.shown_by & known)
    if ports.switching and not shown and not (known and _listed(platform, headers)):
        found[Setting("vlans")] = f"also save {table.save}"
    for rule in platform.shown:
        if not any(pattern.match(header) for header in headers for pattern in rule.patterns):
            found[rule.setting] = f"also save {rule.save}"
    if system.wifi_elsewhere:
        found[Setting("ssids")] = "check its Wi-Fi names on the manager of its access points"
    return found


def _listed(platform: Platform, headers: list[str]) -> bool:
    """Return whether the capture holds the answer to a command that lists all VLANs, which may be built in alone."""
    opens = any_of([p for rule in platform.sections if rule.listing and rule.feature == "vlan" for p in rule.opens])
    return any(opens.fullmatch(header) for header in headers)
