"""Nothing that a device does or says makes a capture take for ever, and nothing of it is then taken for whole."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from auditor.capture import session
from auditor.capture.clock import Clock, Watch
from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.live import CaptureRun, Limits, Result
from auditor.errors import UsageError
from auditor.platforms import catalogue
from tests.capture.test_faults import ANSWERS, QUICK, SHORT, Way, reason_of, way_to, whole
from tests.checks import ends
from tests.effort import share
from tests.lab.shells import PASSWORD, Lab, Shell, deaf_port, lab
from tests.lab.stuck import STAGES, stuck


@pytest.fixture(scope="module")
def devices() -> Iterator[Lab]:
    with lab() as found:
        yield found


@pytest.mark.parametrize("stage", share(STAGES, quick=3))
def test_a_device_that_lets_in_and_then_answers_nothing(stage: str, tmp_path: Path):
    with stuck(stage) as (port, known_host):
        known = tmp_path / "known"
        known.write_text(known_host)
        captured = Way(port, known, limits=SHORT).read()
    assert isinstance(captured, NotCaptured)
    assert "did not answer in time" in captured.reason


def test_a_stopped_round_does_not_wait_for_a_device_that_answers_nothing(devices: Lab, tmp_path: Path):
    with stuck("shell") as (port, known_host):
        bad = way_to(devices, Shell(), tmp_path, name="bad", password="wrong")
        bad.known.write_text(devices.known_hosts + known_host)
        silent = Way(port, bad.known, name="silent")
        found = CaptureRun(Limits(device_seconds=600), keep_going=False).run([silent.job(), bad.job()])
    assert "stopped" in reason_of(found["site", "silent"])


def test_a_watch_ends_a_way_that_is_opened_after_it_has_bitten():
    """Its owner asks, as the session does."""
    stop = threading.Event()
    stop.set()
    with Watch(Clock(0.0, stop, lambda: 1.0), []) as watch:
        watch._thread.join(10)
        assert watch.bitten


def test_a_login_that_is_not_answered_in_time_is_not_called_refused(devices: Lab, tmp_path: Path):
    shell = Shell(answers=ANSWERS, login_delay=30)
    way = way_to(devices, shell, tmp_path, limits=SHORT)
    captured = way.read()
    assert isinstance(captured, NotCaptured)
    assert "did not answer" in captured.reason
    assert "in time" in captured.reason
    assert "refused" not in captured.reason
    assert PASSWORD not in captured.reason


def test_enable_that_asks_for_no_secret(devices: Lab, tmp_path: Path):
    shell = Shell(answers=ANSWERS, low_prompt="core1>", enable="")
    whole(way_to(devices, shell, tmp_path).read())
    assert shell.received.count(b"enable") == 1


@pytest.mark.parametrize("text", ["x" * 100 + "\n", "x"], ids=["many lines", "one line"])
def test_an_endless_answer_is_given_up(text: str, devices: Lab, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(session, "_LARGEST_ANSWER", 400_000)
    monkeypatch.setattr(session, "_LONGEST_LINE", 200_000)
    long = {**ANSWERS, "show running-config": text * (600_000 // len(text))}
    captured = way_to(devices, Shell(answers=long), tmp_path).read()
    assert isinstance(captured, NotCaptured)
    assert "longer than any configuration" in captured.reason


def test_a_word_that_also_ends_blocks_does_not_end_a_configuration():
    """The prompt-like text behind the ``exit`` of a block is not behind that of the whole."""
    platform = catalogue.get("cisco_s300")
    reader = object.__new__(session.Session)
    reader._ends = re.compile(rf"(?m)^{platform.pattern('end')}[ \t\r]*$".encode())
    reader._ends_below = re.compile(rf"(?mi)^(?:{platform.pattern('above_end')})".encode())
    block = b"vlan database\r\nvlan 10\r\nexit\r\n"
    assert not reader._ended(bytearray(block + b"interface vlan 10\r\n name sw1#"))
    assert reader._ended(bytearray(block + b"interface vlan 10\r\n name a\r\n!\r\nexit\r\nsw1#"))
    assert not reader._ended(bytearray(block + b"x" * 5000 + b"exit"))


def test_a_disk_that_is_full_ends_the_round_and_is_told(devices: Lab, tmp_path: Path):
    ways = [way_to(devices, Shell(answers=ANSWERS), tmp_path, name="sw0")]
    ways += [way_to(devices, Shell(silent=True), tmp_path, name=f"sw{number}") for number in range(1, 3)]

    def full(result: Result) -> None:
        if isinstance(result.captured, Captured):
            raise UsageError("captures: the capture of sw0 cannot be written: No space left on device")

    captured_sites = CaptureRun(replace(QUICK, device_seconds=600), full)
    with pytest.raises(UsageError, match="sw0 cannot be written: No space left"):
        captured_sites.run([way.job() for way in ways])
    assert captured_sites.stop.is_set()


def test_a_silent_port_ends_with_the_time_of_the_device(tmp_path: Path):
    listener, port = deaf_port()
    with listener:
        captured = Way(port, tmp_path / "none", limits=replace(SHORT, device_seconds=0.3)).read()
    assert isinstance(captured, NotCaptured)
    assert "did not answer in time" in captured.reason


@pytest.mark.parametrize("platform", catalogue.names())
def test_no_pattern_of_a_secret_runs_into_the_next_line_by_blanks(platform: str):
    """Blank lines would be gone over again from each of them. What is wrapped on purpose says so with a line end."""
    data = catalogue.get(platform)
    for pattern in (*data.secrets_anywhere, *(text for rule in data.secrets_within for text in rule.secrets)):
        bare = re.sub(r"\[\^(?:\\.|[^\]\\])*\]", "", pattern.replace(r"[\s\S]", ""))
        assert r"\s" not in bare, pattern
        assert ".*?" not in bare, pattern


@pytest.mark.slow
@pytest.mark.parametrize("platform", share(catalogue.names(), ci=4))
def test_text_that_is_made_to_take_long_does_not(platform: str):
    """Patterns that go over it again and again would take hours: the limit is generous."""
    ends("tests.capture.hostile", platform)
