"""Secrets planted into conforming captures: the forms below ``fixtures/secrets/``, filled with what is made up here.

A form is text of the dialect in which ``«plain»`` and the like stand for a secret of that shape. ``«ignored»`` is none:
a public key. ``«plain|wrap»`` is wrapped in the middle as an export wraps it, ``«signs|escaped»`` escaped as one does.
"""

from __future__ import annotations

import base64
import random
import re
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from tests.compare.site import Site, conforming
from tests.conftest import FIXTURES, from_yaml

FORMS = FIXTURES / "secrets"
_PLACE = re.compile(r"«(\w+)(?:\|(\w+))?»")
_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_ALNUM = "ABCDEFGHJKLMNPQRSTUVWXYZabcdefghijkmnpqrstuvwxyz23456789"
_CRYPT = "./0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
_TYPE7 = "dsfd;kfoA,.iyewrkldJKDHSUBsgvca69834ncxv9873254k;fg87"
"""The published key by which type 7 hides a text."""


def _some(chance: random.Random, signs: str, count: int) -> str:
    return "".join(chance.choice(signs) for _ in range(count))


def _word(chance: random.Random, syllables: int) -> str:
    """Return a word that can be spoken and is in no language."""
    return "".join(chance.choice("bdfgklmnprstvz") + chance.choice("aeiou") for _ in range(syllables))


def _plain(chance: random.Random, count: int = 12) -> str:
    """Return letters and digits, a letter first and a digit among them."""
    return chance.choice(_LETTERS) + _some(chance, _ALNUM, count - 3) + _some(chance, "23456789", 2)


def _octets(chance: random.Random, count: int) -> bytes:
    return chance.getrandbits(8 * count).to_bytes(count, "big")


def _base64(chance: random.Random, count: int) -> str:
    return base64.b64encode(_octets(chance, count)).decode()


def _type7(chance: random.Random) -> str:
    text, start = _word(chance, 5), chance.randrange(16)
    hidden = (ord(sign) ^ ord(_TYPE7[(start + index) % len(_TYPE7)]) for index, sign in enumerate(text))
    return f"{start:02d}" + "".join(f"{octet:02X}" for octet in hidden)


def _jwt(chance: random.Random) -> str:
    parts = [b'{"alg":"HS256","typ":"JWT"}', b'{"sub":"' + _word(chance, 4).encode() + b'"}', _octets(chance, 32)]
    return ".".join(base64.urlsafe_b64encode(part).decode().rstrip("=") for part in parts)


SHAPES: dict[str, Callable[[random.Random], str]] = {
    "plain": _plain,
    "plain8": lambda c: _plain(c, 8),
    "plain24": lambda c: _plain(c, 24),
    "name": lambda c: _word(c, 4).capitalize() + _some(c, "23456789", 2),
    "lower": lambda c: _word(c, 5),
    "words": lambda c: f"{_word(c, 3)} {_word(c, 2)} {_word(c, 4)}",
    "signs": lambda c: f"{_word(c, 2)}!{_some(c, _ALNUM, 3)}$q{_some(c, _ALNUM, 3)}&w@{_some(c, '23456789', 2)}",
    "digits8": lambda c: _some(c, "123456789", 8),
    "hex26": lambda c: _some(c, "0123456789abcdef", 26),
    "hex32": lambda c: _octets(c, 16).hex(),
    "hex40": lambda c: _octets(c, 20).hex(),
    "hex48": lambda c: _octets(c, 24).hex(),
    "hex64": lambda c: _octets(c, 32).hex(),
    "HEX40": lambda c: _octets(c, 20).hex().upper(),
    "HEX48": lambda c: _octets(c, 24).hex().upper(),
    "HEX64": lambda c: _octets(c, 32).hex().upper(),
    "sha512hex": lambda c: _octets(c, 64).hex(),
    "sha512salted": lambda c: f"{_base64(c, 12)}:{_base64(c, 64)}",
    "md5colons": lambda c: ":".join(f"{octet:02x}" for octet in _octets(c, 16)),
    "b32": lambda c: base64.b32encode(_octets(c, 20)).decode(),
    "b64": lambda c: _base64(c, 32),
    "b64short": lambda c: _base64(c, 12),
    "b64long": lambda c: _base64(c, 66),
    "b64auth": lambda c: base64.b64encode(f"gw:{_plain(c)}".encode()).decode(),
    "enc": lambda c: _base64(c, 75),
    "aoscx": lambda c: "AQBap" + _base64(c, 40)[5:],
    "pem": lambda c: _base64(c, 48),
    "pkcs8": lambda c: "MIGHAgEAMBMGByqGSM49" + _base64(c, 90),
    "ovpn": lambda c: _octets(c, 128).hex(),
    "license": lambda c: " ".join(_some(c, _LETTERS, 6) for _ in range(6)),
    "crypt1": lambda c: f"$1${_some(c, _CRYPT, 8)}${_some(c, _CRYPT, 22)}",
    "crypt5": lambda c: f"$5${_some(c, _CRYPT, 16)}${_some(c, _CRYPT, 43)}",
    "crypt6": lambda c: f"$6${_some(c, _CRYPT, 16)}${_some(c, _CRYPT, 86)}",
    "crypt15": lambda c: f"$15${_some(c, _CRYPT, 16)}${_some(c, _CRYPT, 86)}",
    "pbkdf8": lambda c: f"$8${_some(c, _CRYPT, 14)}${_some(c, _CRYPT, 43)}",
    "scrypt9": lambda c: f"$9${_some(c, _CRYPT, 14)}${_some(c, _CRYPT, 43)}",
    "junos9": lambda c: "$9$" + _some(c, "QzF3n6/9CAtpu0ORhSyleM8XxNdbwYgoaJGUDjHq.mPfT5k", 24),
    "type6": lambda c: _some(c, "ABCDEFGHIJKLMNOPQRSTUVWXYZ[\\]^_`abcdefghi", 40),
    "type7": _type7,
    "type8a": lambda c: "$1c$" + _base64(c, 24),
    "jwt": _jwt,
    "uuid": lambda c: str(uuid.UUID(bytes=_octets(c, 16), version=4)),
    "botid": lambda c: _some(c, "123456789", 10),
    "ignored": lambda c: "AAAAC3NzaC1lZDI1NTE5AAAA" + _base64(c, 33),
    "ignored44": lambda c: _base64(c, 32),
}
"""What a secret of each shape looks like."""
NONE = frozenset(["ignored", "ignored44", "botid"])
"""What is no secret: a public key, and the number of a user that stands in front of one."""


@dataclass
class Planted:
    """A form with secrets in it.

    Attributes:
        text: what stands in the capture.
        secrets: what must be nowhere; of one that is wrapped, its parts.
    """

    form: str
    text: str = ""
    secrets: list[str] = field(default_factory=list)


def filled(form: str, seed: str) -> Planted:
    """Return a form with secrets, the same ones for the same seed."""
    chance = random.Random(seed)
    made = Planted(form)

    def secret(place: re.Match[str]) -> str:
        shape, spelling = place.groups()
        text = SHAPES[shape](chance)
        if spelling == "wrap":
            half = len(text) // 2
            made.secrets += [text[:half], text[half:]]
            return f"{text[:half]}\\\n    {text[half:]}"
        if shape not in NONE:
            made.secrets.append(text)
        if spelling == "escaped":
            text = re.sub(r'(["\\$?])', r"\\\1", text)
            made.secrets.append(text)
        return text

    made.text = _PLACE.sub(secret, form.rstrip("\n"))
    return made


@dataclass
class Planting:
    """A site of one platform whose captures hold secrets in every form.

    Attributes:
        site: the site.
        planted: the forms.
    """

    site: Site
    planted: list[Planted]

    @property
    def secrets(self) -> list[tuple[str, str]]:
        """Return each secret with its form."""
        return [(secret, one.form) for one in self.planted for secret in one.secrets]


def platforms() -> list[str]:
    """Return the platforms that there are forms for."""
    return sorted(path.stem for path in FORMS.glob("*.yaml"))


@cache
def planting(platform: str) -> Planting:
    """Return the site of a platform with all forms in its captures."""
    data = from_yaml((FORMS / f"{platform}.yaml").read_text(encoding="utf-8"))
    site = conforming(data["site"])
    planted: list[Planted] = []
    for index, place in enumerate([*data.get("within", ()), data]):
        made = [filled(form, f"{platform} {index} {number}") for number, form in enumerate(place["forms"])]
        site = _with(site, place.get("file", data["file"]), place, "\n".join(one.text for one in made))
        planted += made
    return Planting(site, planted)


def _with(site: Site, file: str, place: dict[str, Any], text: str) -> Site:
    """Return a site with lines before the last line of a text, below the first one of it, or at the end of the file."""
    lines = site.text(file).rstrip("\n").split("\n")
    at = len(lines)
    if "before" in place:
        at = len(lines) - 1 - lines[::-1].index(place["before"])
    elif "below" in place:
        at = lines.index(place["below"]) + 1
    return site.having(file, "\n".join([*lines[:at], *text.split("\n"), *lines[at:], ""]))
