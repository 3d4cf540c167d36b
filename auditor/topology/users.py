"""Who can log in to a device at all: its users, where all of them are kept out."""

from __future__ import annotations

from collections.abc import Iterator

from auditor.core.state import Setting
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.system import SystemRow
from auditor.reading.source import Bearing, Ref
from auditor.topology.system import System

_NOBODY = "No user of the device can log in as its lines stand: check who is to be let in, and by password or by key"
_LOGINS = (Setting("management", field="logins"),)
_KEEPING_OUT: tuple[FieldName, ...] = ("user_off", "user_locked", "users_alone", "keys_alone")


def shut_out(system: System) -> Iterator[tuple[Ref, Bearing]]:
    """Yield the lines that keep users out, where nobody is left who can log in."""
    users: dict[str, list[SystemRow]] = {}
    for row in system.here:
        if row.user:
            users.setdefault(row.user, []).append(row)
    if not users or system.users_elsewhere:
        return
    by_key = any(row.keys_alone for row in system.here)
    allowed = {name for row in system.here for name in row.users_alone}
    if any(_enters(rows, by_key) and (not allowed or name in allowed) for name, rows in users.items()):
        return
    for row in system.here:
        yield from ((ref, Bearing(_NOBODY, _LOGINS)) for name in _KEEPING_OUT for ref in row.refs(name))


def _enters(rows: list[SystemRow], by_key: bool) -> bool:
    """Return whether a user is let in: by a key, or by a password where one does."""
    locked = by_key or any(row.user_locked for row in rows)
    return not any(row.user_off for row in rows) and (not locked or any(row.user_key for row in rows))
