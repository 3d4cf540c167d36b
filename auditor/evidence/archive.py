"""The archive itself: the same files give the same bytes, and a hostile one is refused before anything is made of it.

Files are stored, not compressed: their bytes are the same with every version of every library, and what is as large as
it says cannot be a bomb. All versions pack in this way, so that each can tell whether an archive was packed again.
"""

from __future__ import annotations

import errno
import io
import re
import stat
import struct
import zipfile
from collections.abc import Iterable
from pathlib import Path

from auditor.errors import EvidenceError, ReportError
from auditor.reports.sanitize import sanitize
from auditor.resources import read_bytes

MAX_BYTES = 512 * 1024 * 1024
MAX_FILES = 10_000
_MAX_NAME = 400
_NAME = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9._-]*(?:/[A-Za-z0-9_-][A-Za-z0-9._-]*)*")
"""Names that mean nothing to any file system or terminal; evidence has no others."""
_LONGEST_DIRECTORY = MAX_FILES * (_MAX_NAME + 46)
"""46 octets and the name an entry: ZIP's central directory (APPNOTE 6.3.10, section 4.3.12)."""
_END = struct.Struct("<4s4H2LH")
"""The end of the central directory record (section 4.3.16), without a comment."""


def pack(files: dict[str, bytes]) -> bytes:
    """Return an archive of files, by name.

    Raises:
        ReportError: there is more than anybody would look into.
    """
    if len(files) > MAX_FILES or sum(map(len, files.values())) > MAX_BYTES // 2:
        raise ReportError("there is too much for an archive of evidence: audit the site in parts")
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.create_system = 3  # Unix, wherever it is made
            entry.external_attr = (stat.S_IFREG | 0o644) << 16
            archive.writestr(entry, files[name])
    return made.getvalue()


def load(path: Path) -> bytes:
    """Read an archive.

    Raises:
        EvidenceError: it cannot be read, or is larger than any evidence.
    """
    try:
        if path.exists() and not path.is_file():
            raise EvidenceError(f"{path}: not a file")
        return read_bytes(path, MAX_BYTES)
    except OSError as error:
        if error.errno == errno.EFBIG:
            raise EvidenceError(f"{path}: larger than any evidence") from error
        raise EvidenceError(f"{path}: cannot be read: {error.strerror or error}") from error


def unpack(data: bytes) -> dict[str, bytes]:
    """Return the files of an archive by name, as their bytes stand in it; nothing is written anywhere.

    Raises:
        EvidenceError: it is no archive, or not such as ``pack`` makes.
    """
    _check_end(data)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
        for entry in entries:
            _check(entry)
        _check_names(entry.filename for entry in entries)
        if sum(entry.file_size for entry in entries) > len(data):
            raise EvidenceError("its files are together larger than itself")
        return {entry.filename: _content(data, entry) for entry in entries}
    except (zipfile.BadZipFile, NotImplementedError, UnicodeDecodeError, struct.error, ValueError) as error:
        raise EvidenceError(f"not a whole zip archive ({sanitize(str(error))})") from error


def _check_end(data: bytes) -> None:
    if data[:2] != b"PK":
        raise EvidenceError("not a zip archive")
    if len(data) < _END.size or data[-_END.size :][:4] != b"PK\5\6":
        raise EvidenceError("not a whole zip archive, or with something after its end")
    _, _, _, _, count, size, _, _ = _END.unpack(data[-_END.size :])
    if count > MAX_FILES or size > _LONGEST_DIRECTORY:
        raise EvidenceError("more files than any evidence has")


def _check(entry: zipfile.ZipInfo) -> None:
    name = entry.filename
    if name.endswith("/"):
        raise EvidenceError(
            f"{sanitize(name[:80])} is a folder: it was packed again; give the archive as it was written"
        )
    if name.startswith("/") or ".." in name.split("/"):
        raise EvidenceError(f"the name of a file points outside of the archive: {sanitize(name[:80])}")
    if len(name) > _MAX_NAME or entry.orig_filename != name or not _NAME.fullmatch(name):
        raise EvidenceError(f"no evidence has a file with this name: {sanitize(name[:80])}")
    if stat.S_IFMT(entry.external_attr >> 16) not in (0, stat.S_IFREG):  # 0: whoever made it did not say
        raise EvidenceError(f"{name} is not an ordinary file")
    if entry.compress_type != zipfile.ZIP_STORED or entry.flag_bits or entry.compress_size != entry.file_size:
        raise EvidenceError(f"{name} is compressed or encrypted, which nothing in evidence is")


def _check_names(names: Iterable[str]) -> None:
    """Refuse names that differ in capitals alone: on some machines one file would be written over the other."""
    taken: set[str] = set()
    for name in map(str.casefold, names):
        if name in taken:
            raise EvidenceError(f"two files of it have the same name: {name}")
        taken.add(name)


def _content(data: bytes, entry: zipfile.ZipInfo) -> bytes:
    """Return a file's bytes; not by way of the library, which gives none of a file whose check sum is wrong."""
    start = entry.header_offset
    if data[start : start + 4] != b"PK\3\4":
        raise EvidenceError(f"{entry.filename} is not where the archive says")
    name, extra = struct.unpack("<2H", data[start + 26 : start + 30])
    start += 30 + name + extra
    if start + entry.file_size > len(data):
        raise EvidenceError(f"{entry.filename} is cut short")
    return data[start : start + entry.file_size]
