"""The audits that were kept, in one SQLite file: add a run, ask for a site's, or for all sites. The only sqlite3."""

from __future__ import annotations

from auditor.history.default_path import history_file
from auditor.history.store import History

__all__ = ["History", "history_file"]
