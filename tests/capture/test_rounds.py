"""Rounds with hostile secrets, plan texts and device texts: nothing but what is allowed is received."""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor.capture import session
from tests.capture.rounds import played

ROUNDS = 200


@pytest.mark.slow
def test_hostile_rounds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(session, "_UNANSWERED", 1.0)
    rounds = played(range(ROUNDS), tmp_path)
    assert [(one.number, one.platform.name, one.wrong) for one in rounds if one.wrong] == []
    assert sum(one.captured for one in rounds) > ROUNDS // 10
    assert sum(one.hostile for one in rounds) > ROUNDS // 10
    assert sum("login" in one.shell.questions and one.shell.sessions > 0 for one in rounds) > ROUNDS // 40
