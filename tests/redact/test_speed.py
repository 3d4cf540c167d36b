"""Redacting takes time in proportion to the text, whatever the text: none of it is gone over again and again."""

from __future__ import annotations

import pytest

from auditor.platforms import catalogue
from auditor.redact import names as names_module
from auditor.redact import redact
from auditor.redact.line import Line
from tests.checks import ends


@pytest.mark.slow
@pytest.mark.parametrize("platform", ["mikrotik_routeros", "fortinet"])
def test_text_that_is_made_to_take_long_does_not(platform: str):
    """One dialect that wraps lines, one whose quotes go over lines. Processor time is limited: it would take hours."""
    ends("tests.redact.hostile", platform)


@pytest.mark.parametrize("platform", catalogue.names())
def test_lines_without_a_name_of_a_secret_are_not_looked_at_one_by_one(platform: str, monkeypatch: pytest.MonkeyPatch):
    """What an ordinary configuration is made of costs a search through all of it, and no more."""
    looked_at: list[int] = []

    class Counted(Line):
        def __init__(self, text: str, position: int) -> None:
            looked_at.append(position)
            super().__init__(text, position)

    monkeypatch.setattr(names_module, "Line", Counted)
    lines = ["interface GigabitEthernet1/0/1", " switchport access vlan 10", " spanning-tree portfast", "!"] * 1000
    assert redact(platform, [*lines, "snmp-server community x1y2z3 ro"])[-1] == "snmp-server community <redacted> ro"
    assert len(looked_at) < 10
