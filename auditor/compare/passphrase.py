"""Passphrases are compared, never kept or shown: as plain text, or as the key that is derived from them."""

from __future__ import annotations

import hashlib
import hmac
import re
import warnings

from auditor.reading.resolve.wifi import Passphrase

_KEY = re.compile(r"[0-9a-fA-F]{64}")
_TYPE_7 = re.compile(r"[0-5]\d(?:[0-9a-fA-F]{2})+", re.ASCII)
"""Two digits that say where in the published key to begin, then two hexadecimal digits a character."""


def derived_key(passphrase: str, ssid: str) -> str:
    """Return the 256-bit key of a passphrase in hexadecimal.

    PBKDF2-HMAC-SHA1 with the SSID as salt and 4096 rounds, IEEE 802.11i-2004 annex H.4.
    """
    return hashlib.pbkdf2_hmac("sha1", _octets(passphrase), _octets(ssid), 4096, 32).hex()


def _octets(text: str) -> bytes:
    """Return the octets of a text; an environment may hold some that are no UTF-8."""
    return text.encode(errors="surrogateescape")


def matches(planned: str, ssid: str, stored: list[Passphrase]) -> bool | None:
    """Return whether all that a capture holds is the planned passphrase; ``None`` where it cannot be told."""
    verdicts = [_matches_one(planned, ssid, one) for one in stored]
    if False in verdicts:
        return False
    return None if None in verdicts or not verdicts else True


def _matches_one(planned: str, ssid: str, stored: Passphrase) -> bool | None:
    if stored.form == "type7":
        text = _from_type7(stored.text)
    elif stored.form == "plain":
        text = stored.text
    else:
        return None
    if text is None:
        return None
    if _KEY.fullmatch(text) or _KEY.fullmatch(planned):
        text, planned = (each.lower() if _KEY.fullmatch(each) else derived_key(each, ssid) for each in (text, planned))
    return hmac.compare_digest(_octets(text), _octets(planned))


def _from_type7(text: str) -> str | None:
    """Return the plain text of a reversibly hidden passphrase; ``None`` where it is damaged."""
    if not _TYPE_7.fullmatch(text):
        return None
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of "crypt", which it has no need of here
        from netutils.password import decrypt_type7  # noqa: PLC0415 - slow to import
    try:
        return str(decrypt_type7(text))
    except (ValueError, IndexError, AttributeError):
        return None
