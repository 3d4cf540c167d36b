"""The correction: for each finding the native commands that would restore the plan, as a proposal; nothing is sent."""

from __future__ import annotations

from auditor.corrections.propose import with_corrections

__all__ = ["with_corrections"]
