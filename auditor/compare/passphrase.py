"""Passphrases are compared, never kept or shown: as plain text, as the key that is derived from them, or by a seal."""

from __future__ import annotations

import hmac

from auditor.passphrases import derived_key, from_type7, is_key, is_seal, octets, seal_fits
from auditor.reading.resolve.wifi import Passphrase


def matches(planned: str, ssid: str, stored: list[Passphrase]) -> bool | None:
    """Return whether all that a capture holds is the planned passphrase; ``None`` where it cannot be told."""
    verdicts = [_matches_one(planned, ssid, one) for one in stored]
    if False in verdicts:
        return False
    return None if None in verdicts or not verdicts else True


def _matches_one(planned: str, ssid: str, stored: Passphrase) -> bool | None:
    if is_seal(stored.text):
        return seal_fits(stored.text, planned, ssid)
    if stored.form == "type7":
        text = from_type7(stored.text)
    elif stored.form == "plain":
        text = stored.text
    else:
        return None
    if text is None:
        return None
    if is_key(text) or is_key(planned):
        text, planned = derived_key(text, ssid), derived_key(planned, ssid)
    return hmac.compare_digest(octets(text), octets(planned))
