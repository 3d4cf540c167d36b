"""How DHCP servers think: the models of leasing that ``dhcp`` in platform.yaml names, each told here.

A scope is what a server gives out in one prefix: addresses, and what it tells the clients that get them. Options have
the numbers of RFC 2132.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from auditor.platforms.shape import named

ScopeField = Literal["gateway", "dns", "domain"]
_FIELDS: dict[int, ScopeField] = {3: "gateway", 6: "dns", 15: "domain"}
"""RFC 2132: the options that are fields of a scope here."""


@dataclass(frozen=True, slots=True)
class Leasing:
    """A model of leasing: what is so on all servers that think in this way.

    Attributes:
        whole_network: a scope that lists no range gives out its whole network but what is excluded.
        prefix_said: a scope that does not say its prefix gives out nothing, whatever addresses are in it; elsewhere its
            interface tells the prefix, or else the one that its addresses are in.
        own: fields that a scope fills with the server's own address where it says nothing.
        by_number: options, by their numbers, tell what other dialects have words for.
    """

    whole_network: bool = False
    prefix_said: bool = False
    own: tuple[Literal["gateway", "dns", "domain"], ...] = ()
    by_number: bool = False

    @property
    def fields(self) -> dict[int, ScopeField]:
        """Return the fields that options tell, by the number of the option."""
        return _FIELDS if self.by_number else {}


RANGES = Leasing()
"""A scope lists the ranges that it gives out. It need not say its prefix: an interface tells it, or the addresses."""

PREFIX_AND_RANGES = Leasing(prefix_said=True)
"""A scope says its prefix, lists the ranges that it gives out, and gives out nothing without either."""

NETWORK_OR_RANGES = Leasing(whole_network=True)
"""A scope lists ranges, or gives out a whole network but what is excluded. Its prefix may be told by its addresses."""

PREFIX_AND_NETWORK = Leasing(whole_network=True, prefix_said=True)
"""A scope says its prefix and gives out the whole of it but what is excluded."""

RANGE_OF_AN_INTERFACE = Leasing(own=("gateway", "dns"), by_number=True)
"""A scope is that of an interface and counts its range from where the prefix begins. Clients are told the server's own
address as their gateway and DNS server unless an option, by its number, tells them another."""

MODELS = {
    "ranges": RANGES,
    "prefix-and-ranges": PREFIX_AND_RANGES,
    "network-or-ranges": NETWORK_OR_RANGES,
    "prefix-and-network": PREFIX_AND_NETWORK,
    "range-of-an-interface": RANGE_OF_AN_INTERFACE,
}
"""By the word that stands in platform.yaml under ``dhcp``."""


LeasingModel = Annotated[Leasing, named(MODELS, "leasing")]
