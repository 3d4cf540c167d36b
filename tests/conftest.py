"""What all tests share: paths, the network fence, and the switch that writes goldens anew."""

from __future__ import annotations

import gc
import hashlib
import ipaddress
import itertools
import os
import socket
import sys
from collections.abc import Generator, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from tests import effort

ROOT = Path(__file__).resolve().parent.parent
FIXTURES = ROOT / "fixtures"
CORPUS = Path(os.environ.get("AUDITOR_CORPUS", ROOT.parent / "shared" / "corpus"))
"""Real configurations beside the checkout; checks over them skip where the folder is absent."""
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
pytest.register_assert_rewrite("tests.drifts", "tests.checks")


def from_yaml(text: str | bytes) -> Any:
    """Return what YAML says, read by the loader written in C where there is one: it takes a tenth of the time."""
    return yaml.load(text, Loader=_LOADER)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update", action="store_true", help="write expected results anew; read the diff before you commit"
    )
    parser.addoption(
        "--effort",
        choices=effort.EFFORTS,
        default="quick",
        help="how much is tried: quick (while one works), ci (by .ci/run) or long (by .ci/run --long)",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Choose how much is tried, before anything is collected."""
    effort.choose(config.getoption("--effort"))


def pytest_xdist_auto_num_workers() -> int:
    """Start three workers for two processors: tests of live capture mostly wait, and each worker has its price."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return cores + (cores + 1) // 2


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Look for no garbage while tests are collected, and afterwards seldom, and not among what stays until the end.

    What is collected and imported is never garbage; going through all of it again and again took a quarter of the time.
    As much is saved where the tests' bytecode is kept, so it is kept also where none is written otherwise.
    """
    gc.disable()
    writes_none, sys.dont_write_bytecode = sys.dont_write_bytecode, False
    try:
        return (yield)
    finally:
        sys.dont_write_bytecode = writes_none
        gc.freeze()
        gc.set_threshold(100_000, 10, 10)
        gc.enable()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what takes more than the chosen effort."""
    too_much = [mark for mark, least in effort.MARKS.items() if least > effort.level()]
    left_out = [item for item in items if any(item.get_closest_marker(mark) for mark in too_much)]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        gone = set(left_out)
        items[:] = [item for item in items if item not in gone]


@pytest.fixture
def update(request: pytest.FixtureRequest) -> bool:
    """Whether goldens are to be written instead of compared."""
    return bool(request.config.getoption("--update"))


@pytest.fixture(scope="session")
def _histories(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Return places for histories that nobody has used, one after the other."""
    folder = tmp_path_factory.mktemp("histories")
    return (folder / f"{number}.sqlite" for number in itertools.count())


@pytest.fixture(autouse=True)
def _own_history(_histories: Iterator[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every test begin without a history, and none touch that of whoever runs it."""
    monkeypatch.setenv("AUDITOR_HISTORY", str(next(_histories)))


@pytest.fixture(autouse=True, scope="session")
def _loopback_only() -> Iterator[None]:
    """Let no test reach further than this machine."""
    connect = socket.socket.connect

    def fenced(self: socket.socket, address: Any) -> None:
        if self.family in (socket.AF_INET, socket.AF_INET6) and not ipaddress.ip_address(address[0]).is_loopback:
            raise AssertionError(f"a test wants to reach {address}")
        connect(self, address)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(socket.socket, "connect", fenced)
        yield


@pytest.fixture(autouse=True, scope="session")
def _derived_once() -> Iterator[None]:
    """Derive each key once: what is slow on purpose was a third of the time of the tests that write evidence."""
    with pytest.MonkeyPatch.context() as patch:
        for name in ("scrypt", "pbkdf2_hmac"):
            patch.setattr(hashlib, name, cache(getattr(hashlib, name)))
        yield
