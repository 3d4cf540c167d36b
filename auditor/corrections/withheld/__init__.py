"""Proposals that are withheld: what could cut off the site, the device or its technician, and is not proven safe.

A reason says what to do by hand. The rules look at what a proposal brings about, not at the dialect; what they must
know of a dialect is in ``correction`` of its platform.yaml.
"""

from __future__ import annotations

from collections.abc import Iterable

from auditor.areas import Mismatch
from auditor.corrections.change import Change
from auditor.corrections.withheld import addresses, bridges, hanging, scopes, switching
from auditor.corrections.withheld.by_hand import BY_HAND
from auditor.corrections.withheld.context import DeviceContext
from auditor.corrections.withheld.words import WORDS, say

__all__ = ["BY_HAND", "WORDS", "DeviceContext", "Withheld", "say"]


class Withheld:
    """Decides what of one device's proposals is withheld; each method returns the reason, empty where there is none."""

    def __init__(self, context: DeviceContext) -> None:
        self._context = context

    def by_bridge(self, mismatch: Mismatch) -> str:
        """Return why nothing is proposed for what is in bridges that have no numbers."""
        return bridges.why(self._context, mismatch)

    def by_changes(self, changes: list[Change]) -> str:
        """Return why what commands bring about is withheld; the first change is the finding's own."""
        return _first((*addresses.why(self._context, changes), *switching.why(self._context, changes)))

    def by_cause(self, changes: list[Change]) -> str:
        """Return what else is behind a finding: another router, or what is wrong instead of a DHCP scope."""
        return _first((*addresses.shares(self._context, changes), *scopes.follows(self._context, changes)))

    def by_scope(self, changes: list[Change]) -> str:
        """Return why what a DHCP scope gives out is left as it is."""
        return _first(scopes.why(self._context, changes))

    def by_commands(self, changes: list[Change], commands: list[str], undo: list[str]) -> str:
        """Return why commands are withheld that move an address or take whole sections away, or whose undo does."""
        moved = addresses.carried_over(self._context, changes, commands)
        return _first((*moved, *hanging.why(self._context, commands, undo)))

    def routing(self) -> str:
        """Return why routing is not switched on."""
        return switching.routing(self._context)


def _first(reasons: Iterable[str]) -> str:
    return next(iter(reasons), "")
