"""Opening the database so that nothing is lost: never a newer one, never over a damaged one, never half made."""

from __future__ import annotations

import os
import sqlite3
import time
from datetime import datetime
from pathlib import Path

from auditor.errors import HistoryError, HistoryTooNew
from auditor.files import make_folder, move
from auditor.history.schema import APPLICATION, migrate, one_moment, steps, version

BUSY_SECONDS = 30.0
"""How long to wait for another audit that is adding its run; one takes milliseconds."""
_ATTEMPTS = 5
_DAMAGE = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}


class _Damaged(Exception):  # noqa: N818 - a signal of this module, no error of ours
    pass


def open_to_read(path: Path) -> sqlite3.Connection:
    """Open a history that is there.

    Raises:
        HistoryError: there is none, it is damaged, or cannot be opened.
        HistoryTooNew: it was written by a newer version.
    """
    try:
        found = path.is_file()
    except OSError as error:
        raise HistoryError(f"{path}: the history cannot be read: {error.strerror or error}") from error
    if not found:
        raise HistoryError(f"{path}: no audits are kept there; 'auditor audit' begins a history")
    try:
        return _connected(path)
    except _Damaged as error:
        raise HistoryError(
            f"{path}: the history is damaged ({error}); the next audit sets it aside and begins a new one"
        ) from error


def open_to_write(path: Path, now: datetime, *, group: bool = False) -> tuple[sqlite3.Connection, Path | None]:
    """Open a history, or begin one; a damaged one is set aside under a name of its own.

    Args:
        path: its file.
        now: the time in the name of one that is set aside.
        group: whether the umask says who may read one that is begun, and not its owner alone.

    Returns:
        The database, and where a damaged one was set aside.

    Raises:
        HistoryError: it cannot be opened or made.
        HistoryTooNew: it was written by a newer version.
    """
    aside = None
    for _ in range(_ATTEMPTS):
        inode = _make(path, group=group)
        try:
            return _connected(path), aside
        except _Damaged:
            aside = _set_aside(path, inode, now) or aside
        except HistoryError:
            if path.exists():
                raise  # else another process has just set it aside
    raise HistoryError(f"{path}: cannot be used: it is damaged again and again")


def _make(path: Path, *, group: bool) -> int:
    """Make an empty file if there is none; SQLite gives its helpers the same rights.

    Returns:
        The file's number in its file system, by which it is known after it was renamed.
    """
    try:
        make_folder(path.parent, group=group)
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666 if group else 0o600)
        try:
            return os.fstat(handle).st_ino
        finally:
            os.close(handle)
    except OSError as error:
        raise HistoryError(
            f"{path}: no history can be kept there: {error.strerror or error}; name another place with --history, "
            "or keep none with --no-history"
        ) from error


def _connected(path: Path) -> sqlite3.Connection:
    connection = None
    uri = f"{path.absolute().as_uri()}?mode=rw"  # never made here: it would be open to others
    try:
        connection = sqlite3.connect(uri, uri=True, timeout=BUSY_SECONDS, isolation_level=None)
        with one_moment(connection):
            _check(connection, path)
        migrate(connection, steps())
        _write_ahead(connection)
        connection.execute("PRAGMA foreign_keys = ON")
    except (sqlite3.Error, HistoryError, _Damaged) as error:
        if connection:
            connection.close()
        if isinstance(error, sqlite3.Error):
            if damage(error):
                raise _Damaged(str(error)) from error
            raise HistoryError(f"{path}: cannot be opened: {error}") from error
        raise
    return connection


def damage(error: sqlite3.Error) -> bool:
    """Return whether an error says that the file is no database or a damaged one."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF in _DAMAGE


def _check(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse what is not ours or newer than we are, before anything is changed."""
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    found = version(connection)
    known = steps()[-1].number
    if application == APPLICATION and found > known:
        raise HistoryTooNew(
            f"{path}: this history was written by a newer version of auditor (step {found}, this one knows {known}); "
            "it was left as it is: update auditor, or name another file with --history"
        )
    told = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if told != "ok":
        raise _Damaged(told)
    if application != APPLICATION and connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
        raise HistoryError(f"{path}: this is a database of something else; it was left as it is")


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Let readers and one writer work side by side; SQLite does not wait by itself for this one change."""
    patience = BUSY_SECONDS
    while connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError:
            patience -= 0.05
            if patience < 0:
                raise
            time.sleep(0.05)
        else:
            return  # where the file system cannot, the slower way is as safe


def _set_aside(path: Path, inode: int, now: datetime) -> Path | None:
    """Move a damaged database away, its helpers with it, unless another process was quicker."""
    stem = f"{path}.damaged-{now:%Y-%m-%d-%H%M%S}"
    aside, count = Path(stem), 1
    while aside.exists():
        count += 1
        aside = Path(f"{stem}-{count}")
    try:
        if path.stat().st_ino != inode:
            return None
        move(path, aside)
        for helper in ("-wal", "-shm"):
            if Path(f"{path}{helper}").exists():
                move(Path(f"{path}{helper}"), Path(f"{aside}{helper}"))
    except FileNotFoundError:
        return None
    except OSError as error:
        raise HistoryError(f"{path}: damaged, and cannot be set aside: {error.strerror or error}") from error
    return aside
