"""Functions of ours that steps call in SQL. A step that was released calls them for ever: what they return stays."""

from __future__ import annotations

import json
import sqlite3

from auditor.core import renamed
from auditor.core.report import finding_id
from auditor.history.rows import stored_json


def make_known(connection: sqlite3.Connection) -> None:
    """Let the statements of a connection call them."""
    for function, count in ((setting_now, 3), (value_now, 2), (finding_id, 2)):
        connection.create_function(function.__name__, count, function, deterministic=True)


def setting_now(setting: str, expected: str, observed: str) -> str:
    """Return a setting's name as it is now; that of a whole item, whose values are its fields, has no field in it.

    Args:
        setting: its name.
        expected: its planned value as JSON.
        observed: its observed value as JSON.
    """
    whole = any(isinstance(json.loads(value), dict) for value in (expected, observed))
    return setting if whole else renamed.setting_now(setting)


def value_now(setting: str, value: str) -> str:
    """Return a setting's value, as JSON, with fields by their names as they are now."""
    return stored_json(renamed.value_now(setting, json.loads(value)))
