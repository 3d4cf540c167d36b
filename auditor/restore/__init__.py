"""The way back: for each finding the native commands that would restore the plan, as a proposal that nobody sends."""

from __future__ import annotations

from auditor.restore.ways import with_ways_back

__all__ = ["with_ways_back"]
