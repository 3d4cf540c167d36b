"""A dialect's words turned into ours, by the tables in platform.yaml."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from functools import partial

from auditor.platforms.definition import Platform

FREE_TABLES = ("security", "band", "passphrase")
"""Tables of words for no field of a row."""


class Words:
    r"""Translations of one platform: by table (``interface.mode``, ``security``, ``band``), patterns and our word.

    Our word ``=`` leaves the dialect's as it is, ``{}`` in it stands for the dialect's, or for
    what a group of its pattern holds, one after another.
    """

    def __init__(self, platform: Platform) -> None:
        self._tables = {
            field: [(re.compile(pattern, re.IGNORECASE), ours) for pattern, ours in table.items()]
            for field, table in platform.words.items()
        }

    def check(self, fields: Collection[str]) -> None:
        """Raise ValueError for a table that is neither for one of these fields nor known by itself."""
        for table in self._tables:
            if table not in fields and table not in FREE_TABLES:
                raise ValueError(f"words: {table} is no field of a row, nor security, band or passphrase")

    def of_feature(self, feature: str) -> dict[str, Callable[[str], str]]:
        """Return by field what turns the dialect's word into ours, for the fields of a feature that have a table.

        The callables raise ValueError for a word that the table does not know.
        """
        prefix = f"{feature}."
        return {
            table.removeprefix(prefix): partial(self._known, table)
            for table in self._tables
            if table.startswith(prefix)
        }

    def _known(self, table: str, text: str) -> str:
        word = self.translate(table, text)
        if word is None:
            raise ValueError(f"{text!r} is no known {table}")
        return word

    def translate(self, field: str, text: str) -> str | None:
        """Return our word; ``None`` where the table does not know the dialect's."""
        if field not in self._tables:
            return text
        for pattern, ours in self._tables[field]:
            if match := pattern.fullmatch(text):
                return text if ours == "=" else _filled(ours, match)
        return None

    def security(self, native: Collection[str], mode: str = "") -> str:
        """Return how a Wi-Fi name is protected; unknown words are kept, so that they can never pass for planned."""
        joined = f"{mode} {','.join(sorted({word.lower() for word in native}))}".strip()
        return self.translate("security", joined) or f"unknown ({joined})"

    def form(self, native: str) -> str:
        """Return the form in which a passphrase is stored: ``plain`` where the table does not know it."""
        known = self.translate("passphrase", native) if "passphrase" in self._tables else None
        return known or "plain"

    def band(self, native: str) -> str | None:
        """Return a radio's band (``2.4``, ``5`` or ``6`` GHz); ``None`` where the configuration leaves it open."""
        return self.translate("band", native) if native else None


def _filled(ours: str, match: re.Match[str]) -> str:
    """Return our word with what the pattern's groups hold, or all of the dialect's word where it has none."""
    if "{}" not in ours:
        return ours
    for part in match.groups(default="") or (match[0],):
        ours = ours.replace("{}", part, 1)
    return ours
