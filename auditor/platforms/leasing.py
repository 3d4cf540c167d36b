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
        mask_said: the same of one that does not say the mask that its clients are told.
        interface_said: the same of one that does not say on which interface it serves.
        once: two scopes cannot have one prefix: which of them is served, no line says.
        own: fields that a scope fills with the server's own address in its prefix where it says nothing.
        by_number: options, by their numbers, tell what other dialects have words for.
        apart: each section about all scopes is that of a server: beside a second, no line says which of them leases.
    """

    whole_network: bool = False
    prefix_said: bool = False
    mask_said: bool = False
    interface_said: bool = False
    once: bool = False
    own: tuple[Literal["gateway", "dns", "domain"], ...] = ()
    by_number: bool = False
    apart: bool = False

    @property
    def fields(self) -> dict[int, ScopeField]:
        """Return the fields that options tell, by the number of the option."""
        return _FIELDS if self.by_number else {}


RANGES = Leasing()
"""A scope lists the ranges that it gives out. It need not say its prefix: an interface tells it, or the addresses."""

RANGES_BY_NUMBER = Leasing(by_number=True)
"""The same, and options tell clients by their numbers what a scope has words for, too."""

RANGES_AND_MASK = Leasing(mask_said=True, interface_said=True)
"""A scope lists the ranges that it gives out, says the mask and its interface, and that tells the prefix."""

PREFIX_AND_RANGES = Leasing(prefix_said=True)
"""A scope says its prefix, lists the ranges that it gives out, and gives out nothing without either."""

PREFIX_OR_RANGES = Leasing(whole_network=True, prefix_said=True)
"""A scope says its prefix, without which it gives out nothing, and lists ranges, or gives out the whole of it."""

NETWORK_OR_RANGES_OF_A_ROUTER = Leasing(whole_network=True, own=("gateway",))
"""A scope lists ranges, or gives out a whole network. Clients are told the server's own address in it as their gateway
unless the scope tells them another, or says that it tells none."""

PREFIX_AND_NETWORK = Leasing(whole_network=True, prefix_said=True, once=True)
"""A scope says its prefix and gives out the whole of it but what is excluded."""

RANGE_OF_AN_INTERFACE = Leasing(own=("gateway", "dns"), by_number=True, apart=True)
"""A scope is that of an interface and counts its range from where the prefix begins. Clients are told the server's own
address as their gateway and DNS server unless an option, by its number, tells them another. Several servers may run."""

MODELS = {
    "ranges": RANGES,
    "ranges-by-number": RANGES_BY_NUMBER,
    "ranges-and-mask": RANGES_AND_MASK,
    "prefix-and-ranges": PREFIX_AND_RANGES,
    "prefix-or-ranges": PREFIX_OR_RANGES,
    "network-or-ranges-of-a-router": NETWORK_OR_RANGES_OF_A_ROUTER,
    "prefix-and-network": PREFIX_AND_NETWORK,
    "range-of-an-interface": RANGE_OF_AN_INTERFACE,
}
"""By the word that stands in platform.yaml under ``dhcp``."""


LeasingModel = Annotated[Leasing, named(MODELS, "leasing")]
