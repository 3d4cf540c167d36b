"""What the areas are given to see in a capture, and where they leave what they see beside the settings."""

from __future__ import annotations

from dataclasses import dataclass, field

from auditor.core.state import Setting
from auditor.passphrases import StoredPassphrase
from auditor.reading.source import Ref
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
        passphrases: by Wi-Fi name, what is stored; secret.
        offered: by VRF, the ways to log in that are open there, and ``snmp``.
        remarks: what was read and is no setting.
    """

    topology: Topology
    evidence: Evidence = field(default_factory=Evidence)
    not_shown: dict[Setting, str] = field(default_factory=dict)
    unknown: list[Ref] = field(default_factory=list)
    passphrases: dict[str, list[StoredPassphrase]] = field(default_factory=dict)
    offered: dict[str, set[str]] = field(default_factory=dict)
    remarks: list[ReadingRemark] = field(default_factory=list)
