"""The correction: for each finding the native commands that would restore the plan, as a proposal that nobody sends."""

from __future__ import annotations

from auditor.corrections.propose import with_corrections

__all__ = ["with_corrections"]
