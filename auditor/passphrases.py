"""Wi-Fi passphrases: the key derived from one, the reversible form of some devices, keyed digests for text on disk.

A keyed digest stands in a saved capture where a passphrase stood: who knows the passphrase can check that it is the
same; it cannot be read from the digest.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
import warnings
from collections.abc import Mapping
from dataclasses import dataclass

_KEY = re.compile(r"[0-9a-fA-F]{64}")
_PASSPHRASE = re.compile(r"[ -~]{8,63}")
_TYPE_7 = re.compile(r"[0-5]\d(?:[0-9a-fA-F]{2})+", re.ASCII)
"""Two digits that say where in the published key to begin, then two hexadecimal digits a character."""
_KEYED_DIGEST = re.compile(r"sealed\.1\.([0-9a-f]{16})((?:\.[0-9a-f]{64})+)")


@dataclass(frozen=True, slots=True)
class StoredPassphrase:
    """A passphrase as the capture holds it; never shown, never stored.

    ``form`` is how it is stored: plain, type7, irreversible or hidden.
    """

    text: str
    form: str

    def __repr__(self) -> str:
        return f"Passphrase({self.form})"


def planned_in(environment: Mapping[str, str], variable: str) -> str:
    """Return the passphrase that a variable holds, without one line end behind it; empty where it holds none."""
    return environment.get(variable, "").removesuffix("\n").removesuffix("\r")


def is_passphrase(text: str) -> bool:
    """Return whether a text can be a passphrase (8 to 63 printable ASCII characters, IEEE 802.11) or a derived key."""
    return is_key(text) or _PASSPHRASE.fullmatch(text) is not None


def derived_key(passphrase: str, ssid: str) -> str:
    """Return the 256-bit key of a passphrase in hexadecimal; one that is such a key already as it is.

    PBKDF2-HMAC-SHA1 with the SSID as salt and 4096 rounds, IEEE 802.11i-2004 annex H.4.
    """
    if _KEY.fullmatch(passphrase):
        return passphrase.lower()
    return hashlib.pbkdf2_hmac("sha1", octets(passphrase), octets(ssid), 4096, 32).hex()


def octets(text: str) -> bytes:
    """Return the octets of a text; an environment may hold some that are no UTF-8."""
    return text.encode(errors="surrogateescape")


def is_key(text: str) -> bool:
    """Return whether a text is a derived key in hexadecimal."""
    return _KEY.fullmatch(text) is not None


def from_type7(text: str) -> str | None:
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


def keyed_digest(passphrase: str, *ssids: str, named: str = "") -> str:
    """Return a keyed digest of a passphrase of Wi-Fi names: one word without quotes, the same in every dialect.

    ``named`` says whose passphrase it is, where the digest must be the same every time; nothing secret may be in it.
    """
    salt = hashlib.sha256("\0".join([named, *ssids]).encode()).hexdigest()[:16] if named else secrets.token_hex(8)
    return ".".join(["sealed", "1", salt, *(_digest(derived_key(passphrase, ssid), salt) for ssid in ssids)])


def is_keyed_digest(text: str) -> bool:
    """Return whether a text is a keyed digest."""
    return _KEYED_DIGEST.fullmatch(text) is not None


def keyed_digest_fits(text: str, passphrase: str, ssid: str) -> bool:
    """Return whether a keyed digest is that of a passphrase."""
    match = _KEYED_DIGEST.fullmatch(text)
    if match is None:
        return False
    digest = _digest(derived_key(passphrase, ssid), match[1])
    return any(hmac.compare_digest(sealed, digest) for sealed in match[2].split(".")[1:])


def _digest(key: str, salt: str) -> str:
    return hashlib.scrypt(key.encode(), salt=salt.encode(), n=2**14, r=8, p=1, dklen=32).hex()
