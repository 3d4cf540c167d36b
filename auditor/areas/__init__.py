"""One room an area: what a plan implies for it, how it is compared, what a mismatch does to whom."""

from __future__ import annotations

from auditor.areas.area import Area, Impact, Mismatch, Ruling, Sentence, Sighting
from auditor.areas.expected import Expected, is_there
from auditor.areas.names import SiteNames
from auditor.areas.numbering import numbered
from auditor.areas.observing import read
from auditor.areas.pair import Pair
from auditor.areas.planned import expected_of
from auditor.areas.planning import gateway_address
from auditor.areas.reading import Reading
from auditor.areas.rooms import ROOMS, room

__all__ = [
    "ROOMS",
    "Area",
    "Expected",
    "Impact",
    "Mismatch",
    "Pair",
    "Reading",
    "Ruling",
    "Sentence",
    "Sighting",
    "SiteNames",
    "expected_of",
    "gateway_address",
    "is_there",
    "numbered",
    "read",
    "room",
]
