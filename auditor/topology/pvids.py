"""Ports that send one VLAN untagged, and take untagged frames into another: what a table and a port VLAN id say."""

from __future__ import annotations

from auditor.reading.row_models.wifi import WifiRow
from auditor.reading.source import Refs
from auditor.topology.interfaces import Interface
from auditor.topology.layer2 import UNNUMBERED, Layer2
from auditor.topology.vlan_tables import Membership


def _in_table(layer2: Layer2, port: Interface) -> Membership:
    """Return what a bridge's table says of a port on it; nothing where the bridge keeps no VLANs apart."""
    bridge = layer2.interfaces.bridge(port.name)
    found = layer2.members.get(port.name) if bridge and layer2.aware(bridge) and layer2.model.members_first else None
    return found or Membership()


def only_leaving(layer2: Layer2, port: Interface) -> Refs:
    """Return the lines by which VLANs leave a port tagged, though no frame or an untagged one enters them by it."""
    own, (vid, _) = _in_table(layer2, port), layer2.bridged(port)
    access = port.admits == "untagged" and vid != UNNUMBERED
    rows = (row for tag, row in own.tagged.items() if access or (tag == vid and tag not in own.untagged))
    return tuple(ref for row in rows for ref in row.at("tagged_ports"))


def beyond_the_air(layer2: Layer2, row: WifiRow) -> Refs:
    """Return the lines by which a table gives a Wi-Fi name other VLANs than its own, or its own in another form."""
    interface = layer2.interfaces.devices.get(row.interface)
    if interface is None or row.disabled:
        return ()
    own, tag = _in_table(layer2, interface), row.vlan if row.vlan_used else ""
    pvid = interface.untagged_vlan or str(UNNUMBERED)
    tagged = [each for vid, each in own.tagged.items() if str(vid) != tag]
    untagged = [each for vid, each in own.untagged.items() if tag or str(vid) != pvid]
    lines = (ref for each in tagged for ref in each.at("tagged_ports"))
    return (*lines, *(ref for each in untagged for ref in each.at("untagged_ports")))


def beside_pvid(layer2: Layer2, port: Interface) -> Refs:
    """Return the lines by which a port on a bridge sends VLANs untagged that untagged frames do not enter by it."""
    own = _in_table(layer2, port).untagged if port.untagged_vlan else {}
    pvid = int(port.untagged_vlan or 0) if port.admits != "tagged" else None
    return tuple(ref for vid, row in own.items() if vid != pvid for ref in row.at("untagged_ports"))
