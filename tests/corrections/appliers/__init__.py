"""Small stand-ins for devices that take commands: each applies commands to a configuration's text, as the device would.

One module a layout, nothing shared with what writes or reads configurations. What a dialect's commands replace, add or
leave unsaid is data in fixtures/corrections/<platform>.yaml, with its source.
"""

from __future__ import annotations

import importlib
from functools import cache
from typing import Any

from tests.conftest import FIXTURES, from_yaml

RULES = FIXTURES / "corrections"


@cache
def rules_of(platform: str) -> dict[str, Any]:
    """Return what is said of a platform's commands."""
    rules: dict[str, Any] = from_yaml((RULES / f"{platform}.yaml").read_text(encoding="utf-8"))
    return rules


def applied(platform: str, files: dict[str, str], commands: list[str]) -> dict[str, str]:
    """Return a device's files as they are after it was given commands.

    Args:
        platform: whose commands they are.
        files: its captured files by name.
        commands: lines, from configuration mode on.
    """
    rules = rules_of(platform)
    module = importlib.import_module(f"tests.corrections.appliers.{rules['applier']}")
    after: dict[str, str] = module.applied(files, commands, rules)
    return after
