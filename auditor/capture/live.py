"""Reading many devices at once over SSH. A device that misbehaves costs only itself, and its failure is a result."""

from __future__ import annotations

import contextlib
import random
import re
import threading
import time
from collections.abc import Callable, Iterable
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import partial

from auditor.capture.clock import Clock
from auditor.capture.connection import Target
from auditor.capture.failures import failure_of
from auditor.capture.interface import Captured, NotCaptured, elsewhere
from auditor.capture.masking import without_secrets
from auditor.capture.peers import Peer, Peers, Settled, listed
from auditor.capture.saving import CaptureRecord, Reached
from auditor.capture.session import Session
from auditor.core.days import Days
from auditor.errors import AuditorError, CaptureFailedError, NotAllowedError, StoppedError, UsageError
from auditor.platforms.definition import Platform
from auditor.platforms.live import answer_file
from auditor.reading.source import CaptureFile
from auditor.redact import KnownSecrets
from auditor.unforeseen import unforeseen_of

Key = tuple[str, str]
"""A site and a device of it."""


@dataclass(frozen=True, slots=True)
class Job:
    """A device to be read.

    Attributes:
        key: its site and name.
        address: as the plan has it, for the record.
        target: where it is and how to get in.
        jump_hosts: those on the way; ``remarks``: what is remarkable about it.
        secrets: those that are known, the site's passwords and planned passphrases: whatever it prints of them is
            taken out, and none is in a reason.
        owner: the site and device that it is, by the names that people know: two plans of one site may have it both.
    """

    key: Key
    address: str
    platform: Platform
    target: Target
    jump_hosts: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    secrets: frozenset[str] = field(default=frozenset(), repr=False)
    owner: tuple[str, str] = ("", "")

    @property
    def shown(self) -> str:
        """What it is called in a sentence."""
        site, name = self.owner if any(self.owner) else self.key
        return f"{name} of {site}"


@dataclass(frozen=True, slots=True)
class Limits:
    """How many devices at once, how many seconds for one and for all, how often what is transient is tried."""

    workers: int = 16
    device_seconds: float = 90.0
    round_seconds: float = 3600.0
    tries: int = 3
    pause_seconds: float = 0.5

    def __post_init__(self) -> None:
        for name, least in (("workers", 1), ("tries", 1), ("device_seconds", 0), ("round_seconds", 0)):
            if not isinstance(value := getattr(self, name), int | float) or value < least or value == 0:
                raise UsageError(f"{name}: expected a number above 0, not {value!r}")


@dataclass(frozen=True, slots=True)
class Result:
    """What became of a device: its capture with the record of it, or why there is none."""

    key: Key
    captured: Captured | NotCaptured
    record: CaptureRecord | None = None


@dataclass
class CaptureRun:
    """A run over devices, on one or several sites.

    Attributes:
        results: by site and device, in the order in which they ended.
        done: told of each result as soon as it counts: where others may turn out to be the same device, once these
            have been reached, too.
        keep_going: whether the other devices are read where one fails.
        stop: set it, and what is not yet read is not read any more.
    """

    limits: Limits = Limits()
    done: Callable[[Result], None] = lambda _: None
    keep_going: bool = True
    stop: threading.Event = field(default_factory=threading.Event)
    results: dict[Key, Result] = field(default_factory=dict)
    _jobs: dict[Key, Job] = field(default_factory=dict, init=False)
    _peers: Peers[Key, Result] = field(init=False)

    def run(self, jobs: Iterable[Job]) -> dict[Key, Result]:
        """Read all devices, and return a result for each of them.

        Raises:
            KeyboardInterrupt: a person stopped it; ``results`` has what was read until then.
            AuditorError: ``done`` failed, as where a disk is full; the other devices are not read any more.
        """
        every = list(jobs)
        self._jobs = {job.key: job for job in every}
        self._peers = Peers(
            {job.key: job.target.known.keys_of(job.target.host, job.target.port) for job in every},
            {job.key: job.shown for job in every},
        )
        ends = time.monotonic() + self.limits.round_seconds
        pool = ThreadPoolExecutor(max_workers=max(1, min(self.limits.workers, len(every) or 1)))
        waiting: set[Future[None]] = {pool.submit(self._read, job, ends) for job in every}
        try:
            while waiting:
                finished, waiting = wait(waiting, timeout=0.5, return_when=FIRST_COMPLETED)
                for future in finished:
                    future.result()
                self._count(self._peers.due())
        except BaseException:
            self.stop.set()
            pool.shutdown(wait=True, cancel_futures=True)
            with contextlib.suppress(AuditorError):
                self._count(self._peers.rest())
            raise
        pool.shutdown()
        return self.results

    def _count(self, every: list[Settled[Key, Result]]) -> None:
        """Count results, each once those that may be the same device have been reached or have ended.

        Raises:
            AuditorError: ``done`` failed, of one of them at least; it was told of all.
        """
        errors = []
        for settled in every:
            result = self._told_apart(settled)
            self.results[result.key] = result
            if isinstance(result.captured, NotCaptured) and not self.keep_going:
                self.stop.set()
            try:
                self.done(result)
            except AuditorError as error:
                errors.append(error)
        if errors:
            raise errors[0]

    def _told_apart(self, settled: Settled[Key, Result]) -> Result:
        """Return a result that counts: not captured where another device is the same one."""
        result, captured = settled.result, settled.result.captured
        if isinstance(captured, NotCaptured):
            return result
        if settled.same:
            return Result(
                result.key,
                NotCaptured(
                    f"the device that was reached is also the one reached as {self._names(settled.same)}: one device "
                    "cannot be both, and neither counts. Correct the addresses in the plan or the SSH configuration"
                ),
            )
        if not settled.same_key or result.record is None:
            return result
        notes = (
            *captured.notes,
            f"it has the same host key as {self._names(settled.same_key)}: give each device a key of its own",
        )
        return Result(result.key, replace(captured, notes=notes), replace(result.record, notes=notes))

    def _names(self, keys: list[Key]) -> str:
        return listed([self._jobs[key].shown for key in keys])

    def _read(self, job: Job, ends: float) -> None:
        """Read one device; whatever goes wrong is a result."""
        clock = Clock(min(ends, time.monotonic() + self.limits.device_seconds), self.stop)
        result = Result(job.key, NotCaptured("not attempted: the run reached its time limit"))
        for attempt in range(1, self.limits.tries + 1):
            if clock.deadline - time.monotonic() <= 0:
                break
            try:
                result = _captured(job, clock, partial(self._peers.reached, job.key))
                break
            except CaptureFailedError as error:
                tried = f" ({attempt} tries)" if error.transient and attempt > 1 else ""
                result = Result(job.key, NotCaptured(". ".join((error.reason + tried, *job.remarks))))
                if not error.transient or not self._pause(attempt, clock):
                    break
            except NotAllowedError as error:
                result = Result(job.key, NotCaptured(str(error)))
                break
            except Exception as error:  # noqa: BLE001 - whatever a device or a library does costs this device alone
                result = Result(job.key, NotCaptured(f"reading it failed: {unforeseen_of(error).text}"))
                break
        if isinstance(result.captured, NotCaptured):
            result = replace(result, captured=NotCaptured(KnownSecrets(job.secrets).without(result.captured.reason)))
        self._count(self._peers.ended(job.key, result))

    def _pause(self, attempt: int, clock: Clock) -> bool:
        """Wait before another try, longer each time; return whether there is time for one."""
        seconds = self.limits.pause_seconds * 2 ** (attempt - 1) * random.uniform(0.5, 1.5)  # noqa: S311
        if attempt == self.limits.tries or seconds >= clock.deadline - time.monotonic():
            return False
        return not self.stop.wait(seconds)


def _captured(job: Job, clock: Clock, met: Callable[[Peer], None]) -> Result:
    """Read one device once; ``met`` is told what it is before anything is sent.

    Raises:
        CaptureFailedError: it cannot be read.
    """
    began = _now()
    try:
        session = Session(job.target, job.platform, clock)
    except OSError as error:
        raise failure_of(error) from error
    try:
        met(session.peer)
        session.begin()
        name = job.key[1]
        answers = {
            command: re.sub(rb"\r+\n", b"\n", session.ask(command, whole=number == 0))
            for number, command in enumerate(job.platform.commands)
        }
        session.finish()
    finally:
        session.close()
    if clock.stop.is_set():
        raise StoppedError("the run was stopped before this device was read")
    weak = (f"it needs an outdated algorithm: {name}" for name in session.weak)
    notes = (*job.remarks, *weak, *elsewhere(job.target.host, job.address))
    commands = tuple(sorted(answers, key=answer_file))
    files = [CaptureFile(f"{name}/{answer_file(command)}", answers[command]) for command in commands]
    kept = without_secrets(job.platform.name, files, secrets=job.secrets)
    reached = Reached(job.target.host, job.target.port, job.jump_hosts)
    record = CaptureRecord(name, job.address, job.platform.name, commands, began, _now(), notes, reached)
    return Result(job.key, Captured(kept, notes, (Days(record=record.ended.date()),) * len(kept)), record)


def _now() -> datetime:
    """Return the time with the offset of this place: its day is the one that people here call today."""
    return datetime.now(UTC).astimezone()


@dataclass(frozen=True, slots=True)
class LiveCaptures:
    """The captures of one site that a run has read; a source for the audit."""

    site: str
    results: dict[Key, Result]

    def capture(self, device: str) -> Captured | NotCaptured:
        """Return a device's capture."""
        found = self.results.get((self.site, device))
        return found.captured if found else NotCaptured("not part of this run")
