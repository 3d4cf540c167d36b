"""What the areas are given to see in a capture, and where they leave what they see beside the settings."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.core.domains import Domain
from auditor.core.state import Gateway, Setting
from auditor.passphrases import StoredPassphrase
from auditor.reading.source import Bearing, Ref
from auditor.topology.device import Topology
from auditor.topology.evidence import Evidence, ReadingRemark


@dataclass(slots=True)
class Observation:
    """One device as its capture shows it.

    Attributes:
        topology: how its interfaces, bridges and VLANs hang together.
        evidence: where each setting was observed.
        not_shown: areas, or fields of them, that this capture cannot show, with what to do about it.
        unknown: lines that say something which nothing gives a meaning, as the name of a VLAN that is not there.
        overriding: lines that were read and can make a setting untrue, with what they bear on.
        passphrases: by Wi-Fi name, what is stored; secret.
        offered: by VRF, the ways to log in that are open there, and ``snmp``.
        aired_on_bridges: Wi-Fi names whose interfaces are on bridges without a number.
        served_in: by its prefix the domain that a DHCP scope is served in, where its interface is said.
        gateways_of_ports: what ports that are in no VLAN have of a gateway.
        remarks: what was read and is no setting.
    """

    topology: Topology
    evidence: Evidence = field(default_factory=Evidence)
    not_shown: dict[Setting, str] = field(default_factory=dict)
    unknown: list[Ref] = field(default_factory=list)
    overriding: list[tuple[Ref, Bearing]] = field(default_factory=list)
    passphrases: dict[str, list[StoredPassphrase]] = field(default_factory=dict)
    offered: dict[str, set[str]] = field(default_factory=dict)
    aired_on_bridges: set[str] = field(default_factory=set)
    served_in: dict[str, Domain | None] = field(default_factory=dict)
    gateways_of_ports: dict[str, Gateway] = field(default_factory=dict)
    remarks: list[ReadingRemark] = field(default_factory=list)
