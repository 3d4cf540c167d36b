"""A session with one device: the only door to netmiko. It reads what read-only commands answer, whole or not at all."""

from __future__ import annotations

import logging
import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import paramiko
from netmiko import NetmikoAuthenticationException, NetmikoTimeoutException
from netmiko.channel import SSHChannel
from netmiko.ssh_dispatcher import CLASS_MAPPER

from auditor.capture import algorithms, reach
from auditor.capture.clock import Clock, Watch
from auditor.capture.credentials import Credentials
from auditor.capture.failures import CaptureFailedError, TransientError, late, login_failed, told
from auditor.capture.gate import Gate
from auditor.capture.hostkeys import KnownHosts
from auditor.platforms.definition import Platform

_MORE = re.compile(
    rb"(?:^|[\r\n\x1b])[^\r\n]{0,40}?(?:-+ ?\(?more\)? ?-+|<-+ ?more ?-+>|--more or|press any key|hit any key"
    rb"|\[q quit|\(q\)uit|press enter to continue)[^\r\n]{0,80}\Z",
    re.IGNORECASE,
)
_COLOURS = re.compile(rb"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07]*\x07|[=>78])")
_WAIT = 0.2
_QUIET = 0.05
_QUIET_BEHIND_AN_END = 0.01
_QUIET_BEHIND_AN_ANSWER = 0.2
_QUIET_WITHOUT_AN_END = 2.0
"""Seconds of silence after which a prompt is taken for one, and not for text that looks like it."""
_SILENT = 5
"""Waits after which a device that shows no prompt by itself is sent a Return."""
_TAIL = 400
_MOST = 65536
_LARGEST_ANSWER = 8 * 1024 * 1024
_LONGEST_LINE = 256 * 1024
"""Bytes that no configuration, and no line of one, comes near; what is longer would only take time."""
_END = 4000
"""Bytes at the end of an answer in which the line that ends a configuration is looked for."""
_ASKED = rb"(?i:pass(?:word|phrase|code)[^\r\n]*:\s*\Z)"
_PAUSE = 0.004
logging.getLogger("paramiko").addHandler(logging.NullHandler())
logging.getLogger("netmiko").disabled = True  # at its lowest level it writes down what is sent, secrets too


@dataclass(frozen=True, slots=True)
class Target:
    """Where a device is and how to get in.

    Attributes:
        device: what the plan calls it; ``host`` and ``port`` where it answers.
        credentials: user, password, keys; secret.
        connect: opens the socket, or the channel through a jump host, within so many seconds.
        known: the known host keys.
    """

    device: str
    host: str
    port: int
    credentials: Credentials
    connect: Callable[[float], Any]
    known: KnownHosts


class _GatedChannel(SSHChannel):
    """A channel that sends only what the gate lets through."""

    def __init__(self, channel: Any, gate: Gate) -> None:
        super().__init__(conn=channel.remote_conn, encoding=channel.encoding)
        self._gate = gate

    def write_channel(self, out_data: str) -> None:
        self._gate.check(out_data)
        super().write_channel(out_data)


class _ReadOnly:
    """Takes out of a netmiko connection all that sends something by itself, and puts the gate before the wire."""

    gate: Gate
    known: KnownHosts
    look_for_keys: bool
    channel: Any
    host: str
    port: int

    def _build_ssh_client(self) -> paramiko.SSHClient:
        client: paramiko.SSHClient = super()._build_ssh_client()  # type: ignore[misc]
        self.known.load_into(client, self.host, self.port)
        client.set_missing_host_key_policy(self.known)
        return client

    def _connect_params_dict(self) -> dict[str, Any]:
        own = {"transport_factory": algorithms.Noting, "look_for_keys": self.look_for_keys}
        given: dict[str, Any] = super()._connect_params_dict()  # type: ignore[misc]
        return {**given, **own, "channel_timeout": given["timeout"]}

    def establish_connection(self, *args: Any, **kwargs: Any) -> None:
        super().establish_connection(*args, **kwargs)  # type: ignore[misc]
        self.channel = _GatedChannel(self.channel, self.gate)

    def special_login_handler(self, *_args: Any, **_kwargs: Any) -> None:
        """Sends nothing."""

    def _try_session_preparation(self, *_args: Any, **_kwargs: Any) -> None:
        """Sends nothing."""

    def session_preparation(self, *_args: Any, **_kwargs: Any) -> None:
        """Sends nothing."""

    def cleanup(self, *_args: Any, **_kwargs: Any) -> None:
        """Sends nothing."""


class Session:
    """An open session.

    Attributes:
        weak: the outdated algorithms that it needs.
    """

    def __init__(self, target: Target, platform: Platform, clock: Clock, gate: Gate | None = None) -> None:
        self._target = target
        self._platform = platform
        self._clock = clock
        self._gate = gate or Gate(platform)
        self._prompt = _at_the_end(platform.prompt)
        self._ends = re.compile(rf"(?m)^{platform.ends_with}[ \t\r]*$".encode()) if platform.ends_with else None
        self._ends_below = re.compile(rf"(?mi)^(?:{platform.ends_below})".encode())
        self._privileged = re.compile(platform.live.privileged)
        self._connection = self._open()
        self.weak = algorithms.outdated(self._connection.remote_conn_pre.get_transport())
        self._wire = self._connection.remote_conn

    def _open(self) -> Any:
        live = self._platform.live
        base = CLASS_MAPPER.get(f"{live.netmiko or self._platform.name}", CLASS_MAPPER["generic"])
        credentials = self._target.credentials
        if credentials.key_file and not Path(credentials.key_file).expanduser().is_file():
            raise CaptureFailedError(f"the key file {credentials.key_file} is not there")
        own = {"gate": self._gate, "known": self._target.known, "look_for_keys": credentials.look_for_keys}
        kind = type("Reader", (_ReadOnly, base), own)
        timeout = max(0.1, min(10.0, self._clock.left()))
        ways: list[Any] = []
        with Watch(self._clock, ways) as watch:
            ways.append(self._target.connect(timeout))
            try:
                connection = (
                    None
                    if watch.bitten
                    else kind(
                        device_type=live.netmiko or self._platform.name,
                        host=self._target.host,
                        port=self._target.port,
                        username=credentials.user,
                        password=credentials.password,
                        key_file=credentials.key_file,
                        allow_agent=credentials.agent,
                        conn_timeout=timeout,
                        auth_timeout=timeout,
                        banner_timeout=timeout,
                        encoding="latin-1",
                        sock=ways[0],
                    )
                )
            except Exception as error:  # noqa: BLE001 - whatever it is, the way is closed
                reach.close(ways[0])
                raise self._failure(error, ended=watch.bitten) from None
        if watch.bitten:
            reach.close(ways[0])
            raise self._failure(TimeoutError(), ended=True)
        return connection

    def _failure(self, error: BaseException, *, ended: bool) -> BaseException:
        """Return what it means that a connection failed; ``ended``: it was ended from here.

        Raises:
            CaptureFailedError: the round was stopped, or it is the device's host key.
        """
        if ended and self._clock.left() <= 0:
            return late()
        if isinstance(error, NetmikoAuthenticationException):
            return login_failed("it", self._target.credentials.user, error)
        if isinstance(error, NetmikoTimeoutException | OSError | EOFError | paramiko.SSHException):
            self._target.known.check_changed(error, self._target.host)
            return told(error)
        return error

    def begin(self) -> None:
        """Wait for the first prompt, get the right to read where that is needed, and keep the pager away.

        Raises:
            CaptureFailedError: there is no prompt, or the right was refused.
        """
        prompt = self._prompt_in(self._read(self._prompt, "the login", waken=_SILENT))
        live = self._platform.live
        secret = self._target.credentials.enable
        if live.privilege and not self._privileged.fullmatch(prompt) and secret:
            self._send(live.privilege)
            answer = self._read(re.compile(_ASKED + b"|" + self._prompt.pattern), live.privilege)
            if re.search(_ASKED, _COLOURS.sub(b"", answer[-_TAIL:])):
                self._gate.expect(secret)
                self._send(secret)
                answer = self._read(self._prompt, live.privilege)
            prompt = self._prompt_in(answer)
            if not self._privileged.fullmatch(prompt):
                raise CaptureFailedError(f"it refused the secret for {live.privilege!r}: it is not tried again")
        self._prompt = _at_the_end(re.escape(prompt))
        self._bare = re.compile(re.escape(prompt.encode("latin-1")))
        for line in live.pager:
            self._send(line)
            self._read(self._prompt, line, quiet=0.0)

    def ask(self, command: str, *, whole: bool = False) -> bytes:
        """Return what a command answers, from its echo to the prompt behind it.

        Args:
            command: one of the platform's.
            whole: its answer ends with the line that ends a configuration.

        Raises:
            CaptureFailedError: it does not answer, or the connection ends in the middle.
        """
        self._send(command)
        answer = self._read(self._prompt, command, whole=whole, quiet=_QUIET_BEHIND_AN_ANSWER)
        self._send("")
        behind = _COLOURS.sub(b"", self._read(self._prompt, command))
        if self._bare.sub(b"", behind).strip():
            raise TransientError(f"something was printed in the middle of its answer to {command!r}; it was not kept")
        return answer

    def close(self) -> None:
        """End the session."""
        try:
            for line in self._platform.live.leave:
                self._send(line)
        except (OSError, EOFError, CaptureFailedError):
            pass
        self._connection.paramiko_cleanup()
        reach.close(self._connection.sock)

    def _send(self, line: str) -> None:
        try:
            self._connection.channel.write_channel(line + self._connection.RETURN)
        except (OSError, EOFError) as error:
            raise TransientError("the connection ended before a command could be sent") from error

    def _prompt_in(self, data: bytes) -> str:
        match = self._prompt.search(_COLOURS.sub(b"", data[-_TAIL:]))
        assert match is not None
        return match["prompt"].decode("latin-1").strip()

    def _read(
        self, wanted: re.Pattern[bytes], during: str, *, whole: bool = False, quiet: float = _QUIET, waken: int = 0
    ) -> bytes:
        """Return all that arrives until a pattern stands at the end and for some seconds nothing follows.

        Where it is a whole configuration that arrives: at once behind the line that ends one, and without that line
        only after a long silence. After ``waken`` waits without an answer a Return asks for the prompt, once.
        """
        data = bytearray()
        line = 0
        while True:
            tail = _COLOURS.sub(b"", bytes(data[-_TAIL:]))
            found = wanted.search(tail) is not None
            if found and whole and self._ends:
                quiet = _QUIET_BEHIND_AN_END if self._ended(data) else _QUIET_WITHOUT_AN_END
            chunk = self._receive(max(quiet, 0.001) if found else _WAIT)
            if chunk:
                data += chunk
                line = len(chunk) - chunk.rfind(b"\n") - 1 if b"\n" in chunk else line + len(chunk)
                if len(data) > _LARGEST_ANSWER or line > _LONGEST_LINE:
                    raise CaptureFailedError(
                        f"its answer to {during!r}, or a line of it, is longer than any configuration: log in and see"
                    )
            elif found:
                return bytes(data)
            elif chunk is None:
                raise TransientError(
                    f"the connection ended in the middle of the answer to {during!r}; nothing of it was kept"
                )
            elif _MORE.search(tail):
                self._connection.channel.write_channel(" ")
            else:
                waken -= 1
                if waken == 0:
                    self._send("")
            if self._clock.left() <= 0:
                if data:
                    raise CaptureFailedError(
                        f"its answer to {during!r} did not end in time: allow it more, or look whether it is overloaded"
                    )
                raise TransientError(f"it did not answer to {during!r} in time")

    def _ended(self, data: bytearray) -> bool:
        """Return whether the line that ends a configuration has arrived, below those that it stands below."""
        last = bytes(data[-_END:])
        last = last[last.find(b"\n") + 1 :] if len(data) > _END else last
        above = [match.end() for match in self._ends_below.finditer(last)]
        return bool(self._ends and self._ends.search(last, above[-1] if above else 0))

    def _receive(self, seconds: float) -> bytes | None:
        """Return what arrives within some time: nothing if nothing does, ``None`` where the connection has ended.

        What follows at once is waited for: a line at a time would cost more than all the rest.
        """
        self._wire.settimeout(seconds)
        try:
            data: bytes = self._wire.recv(_MOST)
            while data and len(data) < _MOST:
                time.sleep(_PAUSE)
                if not self._wire.recv_ready():
                    break
                data += self._wire.recv(_MOST)
        except TimeoutError:
            transport = self._wire.get_transport()
            ended = self._wire.closed or self._wire.eof_received or not (transport and transport.is_active())
            return None if ended else b""
        return data or None


def _at_the_end(prompt: str) -> re.Pattern[bytes]:
    """Return the pattern of a prompt behind which nothing stands; one that was not answered may stand before it."""
    return re.compile(rf"(?:^|[\r\n])(?:(?:{prompt})\s*)*(?P<prompt>{prompt})\s*\Z".encode("latin-1"))
