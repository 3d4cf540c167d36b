"""From a capture to what it shows of a device: ``read(platform, sources)``, all areas asked what they see."""

from __future__ import annotations

from collections.abc import Sequence

from auditor.areas.observation import Observation
from auditor.areas.reading import Reading
from auditor.areas.rooms import ROOMS, room, state_of
from auditor.core.observed import Observed
from auditor.reading.dialect import dialect
from auditor.reading.reader import Readout
from auditor.reading.source import Bearing, CaptureFile, Disposition, Ref
from auditor.topology.contradicted import contradicted
from auditor.topology.device import Topology
from auditor.topology.hindered import hindered
from auditor.topology.snooping import starved
from auditor.topology.split import split
from auditor.topology.undone import undone


def read(platform: str, sources: Sequence[CaptureFile]) -> Reading:
    """Read one device's capture.

    Args:
        platform: a platform's name.
        sources: its files: the running configuration and listings, in any order.

    Returns:
        What was observed. A capture that is no whole configuration is a reading with a ``problem``, no error.

    Raises:
        PlatformError: no such platform, or its data are broken.
    """
    readout = Readout(dialect(platform), sources)
    problem = readout.problem()
    elsewhere = None if problem else readout.elsewhere
    topology = Topology(readout.dialect, readout.rows, readout.headers, readout.defaults(), elsewhere)
    seen = Observation(topology)
    state = state_of({each.name: each.observed(seen) for each in ROOMS})
    for line, command in topology.platform.commands.items():
        for setting, opens in command.shown_by.items():
            answered = any(pattern.match(header) for header in topology.headers for pattern in opens)
            if not room(setting.area).shows(topology, setting, answered):
                save = command.save or f'the output of "{line}"'
                before = seen.not_shown.get(setting)
                seen.not_shown[setting] = f"{before}, and {save}" if before else f"also save {save}"
    for ref in (*topology.unknown(), *seen.unknown):
        readout.lines[ref.source].mark(ref.line, Disposition.NOT_UNDERSTOOD)
    late = (
        *starved(topology, state.ports),
        *hindered(topology, state.dhcp, seen.evidence.of),
        *undone(topology, state.dhcp, seen.evidence.of),
        *contradicted(topology),
        *split(topology),
    )
    together: dict[Ref, Bearing] = {}
    for ref, bearing in (*seen.overriding, *late):
        together[ref] = together[ref].also(bearing) if ref in together else bearing
    for ref, bearing in together.items():
        if readout.lines[ref.source].kinds[ref.line - 1] != Disposition.NOT_UNDERSTOOD:
            readout.lines[ref.source].mark(ref.line, Disposition.OVERRIDING, bearing)
    return Reading(
        readout.dialect.platform.name,
        readout.lines,
        problem,
        readout.days(),
        Observed(state),
        readout.wording,
        readout.places,
        seen,
    )
