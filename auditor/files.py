"""Files and folders for their owner alone, or as the umask has it; a file is there whole or not at all.

What differs between operating systems is settled here: locks, and what is told of a file that cannot be moved. Modes
are given to each file and folder as it is made; where a system has none, it ignores them.
"""

from __future__ import annotations

import contextlib
import errno
import importlib
import os
import secrets
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import ModuleType

_BINARY: int = getattr(os, "O_BINARY", 0)
"""Without it Windows would write two signs for each line end."""
_OPEN_ELSEWHERE = "close it: another program has it open, or it belongs to another user"
_TAKEN = (errno.EACCES, errno.EDEADLK)
"""What Windows says of a lock that another has."""
_PAUSE_SECONDS = 0.05


def _optional(name: str) -> ModuleType | None:
    """Return a module of the standard library; ``None`` on a system that it is not for."""
    try:
        return importlib.import_module(name)
    except ImportError:
        return None


def make_folder(path: Path, *, group: bool = False) -> None:
    """Make a folder, and those above it that are missing; one that is there keeps its mode.

    Args:
        path: the folder.
        group: its mode is left to the umask; else it is for its owner alone.

    Raises:
        OSError: it cannot be made.
    """
    if path.is_dir():
        return
    make_folder(path.parent, group=group)
    path.mkdir(mode=0o777 if group else 0o700, exist_ok=True)


def make_beside(folder: Path, name: str, *, group: bool = False) -> Path:
    """Make a folder within another under a name of its own: hidden, with eight signs behind the one that is given.

    Raises:
        OSError: it cannot be made.
    """
    while True:
        path = folder / f".{name}.{secrets.token_hex(4)}"
        try:
            path.mkdir(mode=0o777 if group else 0o700)
        except FileExistsError:
            continue
        return path


def write_new(path: Path, data: bytes, *, group: bool = False) -> None:
    """Write a file that is not there yet, down to the disk.

    Raises:
        OSError: it cannot be written, or is there.
    """
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, 0o666 if group else 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def append(path: Path, data: bytes) -> None:
    """Write behind what a file holds, in one piece; it is made for its owner alone, its folder as well.

    Raises:
        OSError: it cannot be written.
    """
    make_folder(path.parent)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | _BINARY, 0o600)
    with os.fdopen(handle, "ab", buffering=0) as file:
        file.write(data)


def replace_file(path: Path, data: bytes, *, group: bool = False) -> None:
    """Write a file in the place of an older one; its folder is made if need be.

    Whoever looks meanwhile sees the older one, or none, or the new one whole; what is written meanwhile has the same
    mode.

    Raises:
        OSError: it cannot be written.
    """
    make_folder(path.parent, group=group)
    while True:
        made = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
        try:
            write_new(made, data, group=group)
        except FileExistsError:
            continue
        except BaseException:
            made.unlink(missing_ok=True)
            raise
        break
    try:
        move(made, path)
    except BaseException:
        made.unlink(missing_ok=True)
        raise


def move(source: Path, target: Path) -> None:
    """Give a file or folder another name; a file takes the place of an older one, a folder of none that holds anything.

    Raises:
        PermissionError: it, or what it would replace, is open in another program where that forbids it, or somebody
            else's; its ``strerror`` says what to do.
        OSError: it cannot be moved for any other reason.
    """
    try:
        source.replace(target)
    except PermissionError as error:
        raise PermissionError(error.errno, _OPEN_ELSEWHERE, str(target)) from error


def hold(folder: Path, *, shared: bool = False, wait: bool = True) -> Callable[[], None]:
    """Lock a folder against other processes that ask for it, until it is let go or this process ends.

    POSIX locks the folder itself. Windows locks files alone, and none for several readers: there a file beside the
    folder is locked, so that the folder can still be moved, and who only reads asks for no lock where nobody writes.
    A system or file system that knows no locks has none.

    Args:
        folder: the folder.
        shared: others may hold it at the same time if they share it, too.
        wait: wait for others to let it go.

    Returns:
        What lets it go.

    Raises:
        BlockingIOError: another holds it, and ``wait`` says not to wait.
        OSError: there is no such folder.
    """
    if fcntl := _optional("fcntl"):
        return _hold_folder(fcntl, folder, shared=shared, wait=wait)
    if not folder.is_dir():
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(folder))
    folder = folder.resolve()
    beside = folder.parent / f".{folder.name.lstrip('.')}.lock"
    if (msvcrt := _optional("msvcrt")) and (beside.exists() or not shared):
        return _hold_file(msvcrt, beside, wait=wait)
    return _nothing


def _hold_folder(fcntl: ModuleType, folder: Path, *, shared: bool, wait: bool) -> Callable[[], None]:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fcntl.flock(handle, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | (0 if wait else fcntl.LOCK_NB))
    except BlockingIOError:
        os.close(handle)
        raise
    except OSError:  # a file system that knows no locks
        pass
    return partial(os.close, handle)


def _hold_file(msvcrt: ModuleType, file: Path, *, wait: bool) -> Callable[[], None]:
    handle = os.open(file, os.O_RDWR | os.O_CREAT, 0o600)
    while True:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
            break
        except OSError as error:
            if error.errno not in _TAKEN:  # a file system that knows no locks
                break
            if not wait:
                os.close(handle)
                raise BlockingIOError(error.errno, error.strerror, str(file)) from error
        time.sleep(_PAUSE_SECONDS)

    def let_go() -> None:
        os.close(handle)  # and with it the lock
        with contextlib.suppress(OSError):  # another is waiting for it, and has it open
            file.unlink()

    return let_go


def _nothing() -> None:
    pass
