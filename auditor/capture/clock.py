"""How long a device may take: the clock that is looked at, and the watch that ends what looks at no clock."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Self

from auditor.capture.reach import cut_off
from auditor.errors import StoppedError

_LOOK = 0.5
"""Seconds between two looks at the clock."""


@dataclass
class Clock:
    """How long a device may take, and whether everything is to stop.

    ``now`` counts seconds and never goes back.
    """

    deadline: float
    stop: threading.Event = field(default_factory=threading.Event)
    now: Callable[[], float] = time.monotonic

    def left(self) -> float:
        """Return the seconds left.

        Raises:
            StoppedError: the round was stopped.
        """
        if self.stop.is_set():
            raise StoppedError("the round was stopped before it was read")
        return self.deadline - self.now()


class Watch:
    """Ends a connection when the time is over or the round is stopped, whatever its owner waits for.

    Its ways are sockets or channels; one may be added later, if whoever does so then asks whether it has bitten.

    Attributes:
        bitten: it has ended the connection.
    """

    def __init__(self, clock: Clock, ways: list[Any]) -> None:
        self.bitten = False
        self._clock = clock
        self._ways = ways
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def _look(self) -> None:
        while not self._over.wait(max(0.0, min(_LOOK, self._clock.deadline - self._clock.now()))):
            if self._clock.stop.is_set() or self._clock.deadline <= self._clock.now():
                self.bitten = True
                for way in self._ways:
                    cut_off(way)
                return
