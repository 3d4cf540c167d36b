"""Passphrases are compared, never kept or shown: as plain text, as the key derived from them, or by a keyed digest."""

from __future__ import annotations

import hmac
from collections.abc import Callable

from auditor.passphrases import (
    StoredPassphrase,
    derived_key,
    from_type7,
    is_key,
    is_keyed_digest,
    keyed_digest_fits,
    octets,
)


def matches(planned: str, ssid: str, stored: list[StoredPassphrase]) -> bool | None:
    """Return whether all that a capture holds is the planned passphrase; ``None`` where it cannot be told."""
    return _verdict([_matches_one(planned, ssid, one) for one in stored])


def assumed(said: Callable[[], bool], stored: list[StoredPassphrase]) -> bool | None:
    """Return the same where the planned passphrase is not at hand: ``said`` tells whether what can be compared is it.

    It is asked only where something can be compared.
    """
    shown = [is_keyed_digest(one.text) or _plain(one) is not None for one in stored]
    fits = said() if any(shown) else True
    return _verdict([fits if one else None for one in shown])


def damaged(stored: list[StoredPassphrase]) -> bool:
    """Return whether some passphrase is stored in a form that can be read, and cannot be read."""
    return any(one.form == "type7" and not is_keyed_digest(one.text) and from_type7(one.text) is None for one in stored)


def _verdict(verdicts: list[bool | None]) -> bool | None:
    if False in verdicts:
        return False
    return None if None in verdicts or not verdicts else True


def _plain(stored: StoredPassphrase) -> str | None:
    """Return a passphrase that can be read, or its key; ``None`` for one that is stored irreversibly or damaged."""
    if stored.form == "type7":
        return from_type7(stored.text)
    return stored.text if stored.form == "plain" else None


def _matches_one(planned: str, ssid: str, stored: StoredPassphrase) -> bool | None:
    if is_keyed_digest(stored.text):
        return keyed_digest_fits(stored.text, planned, ssid)
    text = _plain(stored)
    if text is None:
        return None
    if is_key(text) or is_key(planned):
        text, planned = derived_key(text, ssid), derived_key(planned, ssid)
    return hmac.compare_digest(octets(text), octets(planned))
