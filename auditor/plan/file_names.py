"""Names that become files and folders on any operating system, without being taken for another or for a device of it.

Source: Microsoft, "Naming Files, Paths, and Namespaces" (reserved names, also with an ending; reserved characters; no
blank or full stop at the end). That names are one which differ in case or in the way a letter is composed is common to
the file systems of Windows and macOS (from memory).
"""

from __future__ import annotations

import re
import unicodedata

_RESERVED = re.compile(r"(?:con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(?:\..*)?", re.IGNORECASE | re.DOTALL)
_FORBIDDEN = '<>:"/\\|?*'


def unusable(name: str) -> str:
    """Return why no file can have a name everywhere, and what to do; empty where it can."""
    if _RESERVED.fullmatch(name):
        return f"{name} is a reserved name on Windows, so that its files could not be kept there: choose another name"
    if found := next((sign for sign in name if sign in _FORBIDDEN or sign < " "), ""):
        return f"a device's name must not have {found!r}: its captures are kept in files of that name"
    if name.endswith((".", " ")):
        return "a device's name must not end in a full stop or a blank: Windows would leave it out of the file's name"
    return ""


def same_file(name: str) -> str:
    """Return what is equal for names that are one on some file systems: those that ignore case or composition.

    Source: The Unicode Standard, section 3.13, D145 (canonical caseless matching).
    """
    return unicodedata.normalize("NFD", unicodedata.normalize("NFD", name).casefold())
