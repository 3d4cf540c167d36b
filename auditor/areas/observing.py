"""From a capture to what it shows of a device: ``read(platform, sources)``, all areas asked what they see."""

from __future__ import annotations

from collections.abc import Sequence

from auditor.areas.observation import Observation
from auditor.areas.reading import Reading
from auditor.areas.rooms import ROOMS, room, state_of
from auditor.core.observed import Observed
from auditor.reading.dialect import dialect
from auditor.reading.reader import Readout
from auditor.reading.source import CaptureFile, Disposition
from auditor.topology.device import Topology


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
    topology = Topology(readout.dialect, readout.rows, readout.headers, readout.defaults())
    seen = Observation(topology)
    state = state_of({each.name: each.observed(seen) for each in ROOMS})
    for line, command in topology.platform.commands.items():
        for setting, opens in command.shown_by.items():
            answered = any(pattern.match(header) for header in topology.headers for pattern in opens)
            if not (answered if setting.field else room(setting.area).shown(topology, answered)):
                save = command.save or f'the output of "{line}"'
                seen.not_shown[setting] = f"also save {save}"
    for ref in (*topology.unknown(), *seen.unknown):
        readout.lines[ref.source].mark(ref.line, Disposition.NOT_UNDERSTOOD)
    return Reading(
        readout.dialect.platform.name,
        readout.lines,
        readout.problem(),
        readout.days(),
        Observed(state),
        readout.wording,
        readout.places,
        seen,
    )
