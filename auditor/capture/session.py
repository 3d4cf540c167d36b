"""A session with one device: the only door to netmiko. It reads what read-only commands answer, whole or not at all."""

from __future__ import annotations

import logging
import re
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import paramiko
from netmiko import NetmikoAuthenticationException, NetmikoTimeoutException
from netmiko.channel import SSHChannel
from netmiko.ssh_dispatcher import CLASS_MAPPER

from auditor.capture import reach
from auditor.capture.credentials import Credentials
from auditor.capture.failures import CaptureFailedError, StoppedError, TransientError, told
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
_TAIL = 400
_MOST = 65536
_PAUSE = 0.004
logging.getLogger("paramiko").addHandler(logging.NullHandler())
logging.getLogger("netmiko").disabled = True  # at its lowest level it writes down what is sent, secrets too
WEAK = re.compile(r"sha1|ssh-rsa$|ssh-dss|3des|arcfour|blowfish|-cbc|md5", re.IGNORECASE)
"""Algorithms that NIST SP 800-131A or RFC 9142 no longer want (from memory)."""


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


class _GatedChannel(SSHChannel):
    """A channel that sends only what the gate lets through."""

    def __init__(self, channel: Any, gate: Gate) -> None:
        super().__init__(conn=channel.remote_conn, encoding=channel.encoding)
        self._gate = gate

    def write_channel(self, out_data: str) -> None:
        self._gate.check(out_data)
        super().write_channel(out_data)


class _Noting(paramiko.Transport):
    """A transport that remembers which key exchange was agreed on."""

    agreed_kex = ""

    def _activate_outbound(self) -> None:
        self.agreed_kex = getattr(self.kex_engine, "name", self.agreed_kex)
        super()._activate_outbound()  # type: ignore[misc]


class _ReadOnly:
    """Takes out of a netmiko connection all that sends something by itself, and puts the gate before the wire."""

    gate: Gate
    known: KnownHosts
    look_for_keys: bool
    channel: Any

    def _build_ssh_client(self) -> paramiko.SSHClient:
        client: paramiko.SSHClient = super()._build_ssh_client()  # type: ignore[misc]
        self.known.load_into(client)
        client.set_missing_host_key_policy(self.known)
        return client

    def _connect_params_dict(self) -> dict[str, Any]:
        own = {"transport_factory": _Noting, "look_for_keys": self.look_for_keys}
        return {**super()._connect_params_dict(), **own}  # type: ignore[misc]

    def establish_connection(self, *args: Any, **kwargs: Any) -> None:
        super().establish_connection(*args, **kwargs)  # type: ignore[misc]
        self.channel = _GatedChannel(self.channel, self.gate)

    def special_login_handler(self, *_args: Any, **_kwargs: Any) -> None:
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
        self._ends = re.compile(rf"(?m)^{platform.ends_with}\s*$".encode()) if platform.ends_with else None
        self._privileged = re.compile(platform.live.privileged)
        self._connection = self._open()
        self.weak = self._weak()
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
        sock = self._target.connect(timeout)
        try:
            return kind(
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
                sock=sock,
            )
        except NetmikoAuthenticationException:
            reach.close(sock)
            raise CaptureFailedError(
                f"it refused the login of {credentials.user!r}: check user, password and key; it is not tried again, "
                "so that the account is not locked"
            ) from None
        except (NetmikoTimeoutException, OSError, EOFError, paramiko.SSHException) as error:
            reach.close(sock)
            self._target.known.check_changed(error, self._target.host)
            raise told(error) from None

    def _weak(self) -> list[str]:
        transport = self._connection.remote_conn_pre.get_transport()
        names = {transport.host_key_type, transport.local_cipher, transport.remote_cipher, transport.remote_mac}
        names.add(transport.agreed_kex)
        return sorted(name for name in names if name and WEAK.search(name))

    def begin(self) -> None:
        """Wait for the first prompt, get the right to read where that is needed, and keep the pager away.

        Raises:
            CaptureFailedError: there is no prompt, or the right was refused.
        """
        prompt = self._until_prompt("the login")
        live = self._platform.live
        secret = self._target.credentials.enable
        if live.privilege and not self._privileged.fullmatch(prompt) and secret:
            self._send(live.privilege)
            self._read(re.compile(rb"(?i)pass(word|phrase|code)[^\r\n]*:\s*\Z"), live.privilege)
            self._gate.expect(secret)
            self._send(secret)
            prompt = self._until_prompt(live.privilege)
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
        answer = self._read(self._prompt, command, self._ends if whole else None, quiet=_QUIET_BEHIND_AN_ANSWER)
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

    def _until_prompt(self, during: str) -> str:
        data = self._read(self._prompt, during)
        match = self._prompt.search(_COLOURS.sub(b"", data[-_TAIL:]))
        assert match is not None
        return match["prompt"].decode("latin-1").strip()

    def _read(
        self, wanted: re.Pattern[bytes], during: str, ends: re.Pattern[bytes] | None = None, quiet: float = _QUIET
    ) -> bytes:
        """Return all that arrives until a pattern stands at the end and for some seconds nothing follows.

        ``ends`` is what stands somewhere in front of it: then at once, and without it only after a long silence.
        """
        data = bytearray()
        while True:
            tail = _COLOURS.sub(b"", bytes(data[-_TAIL:]))
            found = wanted.search(tail) is not None
            if found and ends:
                quiet = _QUIET_BEHIND_AN_END if ends.search(data) else _QUIET_WITHOUT_AN_END
            chunk = self._receive(max(quiet, 0.001) if found else _WAIT)
            if chunk:
                data += chunk
            elif found:
                return bytes(data)
            elif chunk is None:
                raise TransientError(
                    f"the connection ended in the middle of the answer to {during!r}; nothing of it was kept"
                )
            elif _MORE.search(tail):
                self._connection.channel.write_channel(" ")
            if self._clock.left() <= 0:
                if data:
                    raise CaptureFailedError(
                        f"its answer to {during!r} did not end in time: allow it more, or look whether it is overloaded"
                    )
                raise TransientError(f"it did not answer to {during!r} in time")

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
