"""What each room says of its area. The pipeline asks all rooms the same and knows none of them by name."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

from auditor.areas.expected import Expected
from auditor.areas.names import SiteNames
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning
from auditor.core.report import Consequence, Doubt, Kind
from auditor.core.service import ServicePath
from auditor.core.state import Setting
from auditor.topology.device import Topology


@dataclass(frozen=True, slots=True)
class Mismatch:
    """A setting, or a whole item, that is not as planned."""

    setting: Setting
    kind: Kind
    expected: Any
    observed: Any


class Sentence(NamedTuple):
    """What an effect says: one of its area's ``sentences``, and the values in it."""

    name: str
    values: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Impact:
    """What a mismatch does: its consequence, and the sentences that tell it, a semicolon between them."""

    consequence: Consequence
    sentences: tuple[Sentence, ...]


Ruling = Mismatch | tuple[Setting, Doubt]
"""A setting that is not as planned, or that cannot be told and why."""


@dataclass(frozen=True, slots=True)
class Sighting:
    """Whose mismatch it is that an impact is asked of.

    Attributes:
        device: the device.
        names: what the plan calls things.
        ineffective: ports and gateways that are set up and have no effect.
    """

    device: str
    names: SiteNames
    ineffective: frozenset[Setting] = frozenset()


class Area:
    """What holds of an area where its room says nothing else.

    Attributes:
        name: its name in a setting, and in DeviceState.
        sentences: what mismatches do, by name; ``{…}`` are values.
        together: groups of fields that mean nothing without each other: one correction settles all that differ.
        on_paths: the fields that service paths hang on; ``None`` where none hangs on the area.
        tells_who_loses: its sentences say already what its clients lose.
        judged_apart: fields that ``rulings`` alone judges.
        told_by: by field, the fields of rows that it can come from, as ``feature.field`` with blanks between; the field
            ``""`` is the area as such, and ``dhcp.…`` what platform.yaml says under dhcp.
    """

    name: ClassVar[str]
    sentences: ClassVar[Mapping[str, str]] = {}
    together: ClassVar[tuple[tuple[str, ...], ...]] = ()
    on_paths: ClassVar[tuple[str, ...] | None] = None
    tells_who_loses: ClassVar[bool] = False
    judged_apart: ClassVar[tuple[str, ...]] = ()
    told_by: ClassVar[Mapping[str, str]] = {}

    def planned(self, planning: Planning) -> Any:
        """Return what a plan implies for a device, as DeviceState has it; ``None`` for what is no part of it.

        The areas are asked from the last to the first, so that the VLANs, which come last, know who uses them.
        """

    def observed(self, seen: Observation) -> Any:
        """Return what a capture shows, as DeviceState has it; ``None`` for what is no part of it."""

    def shown(self, topology: Topology, answered: bool) -> bool:  # noqa: ARG002 - asked of all areas alike
        """Return whether a capture shows the area; ``answered``: it holds the answer to the command that shows it."""
        return answered

    def shows(self, topology: Topology, setting: Setting, answered: bool) -> bool:
        """Return whether a capture shows the area, or a field of it; ``answered`` as above."""
        return answered if setting.field else self.shown(topology, answered)

    def align(self, pair: Pair) -> None:
        """Bring the two sides of the area into one form, before the areas are looked at together."""

    def complete(self, pair: Pair) -> None:
        """Bring in what other areas tell. The areas are asked from the last to the first: VLANs know who uses them."""

    def not_shown(self, expected: Expected, not_shown: Mapping[Setting, str]) -> Mapping[str, str]:  # noqa: ARG002
        """Return what the capture does not show beside planned settings, and what to do about it."""
        return {}

    def rulings(self, pair: Pair, passphrase: Callable[[str], bool | Doubt]) -> Iterator[Ruling]:  # noqa: ARG002
        """Yield what is judged in another way than field by field.

        Args:
            pair: both sides.
            passphrase: tells for a Wi-Fi name whether its passphrase is the planned one, or why that cannot be told.
        """
        yield from ()

    def unplanned(self, items: Mapping[str, Any], pair: Pair) -> Mapping[str, Any]:
        """Return which items, by key, may not be there, of those that are there and not planned.

        Every room that has items by key says it.
        """
        raise NotImplementedError

    def speaks(self, pair: Pair, setting: Setting) -> bool:  # noqa: ARG002
        """Return whether a field says something though its value is that of silence."""
        return False

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """Return what a mismatch does by itself; service paths refine it (network/effects.py). Every room says it."""
        raise NotImplementedError

    def serves(self, setting: Setting, device: str, path: ServicePath) -> bool:  # noqa: ARG002
        """Return whether a setting of a device is one that a path needs, though a mismatch need not break it."""
        return False

    def text(self, impact: Impact) -> str:
        """Return the sentences of an impact."""
        return "; ".join(self.sentences[name].format_map(values) for name, values in impact.sentences)


def outage(name: str, /, **values: object) -> Impact:
    """Return an impact of one sentence: a planned service does not work."""
    return Impact("outage", (Sentence(name, values),))


def exposure(name: str, /, **values: object) -> Impact:
    """Return an impact of one sentence: access that should be closed is open."""
    return Impact("exposure", (Sentence(name, values),))


def upkeep(name: str, /, **values: object) -> Impact:
    """Return an impact of one sentence: no effect on users yet."""
    return Impact("upkeep", (Sentence(name, values),))
