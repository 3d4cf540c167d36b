"""A connection to one device: the only door to netmiko, with all taken out of it that sends something by itself."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import paramiko
from netmiko import NetmikoAuthenticationException, NetmikoTimeoutException
from netmiko.channel import SSHChannel
from netmiko.ssh_dispatcher import CLASS_MAPPER

from auditor.capture import reach
from auditor.capture.allowlist import Allowlist
from auditor.capture.clock import Clock, Watch
from auditor.capture.credentials import Credentials
from auditor.capture.failures import failure_of, late, login_failed
from auditor.capture.hostkeys import KnownHosts
from auditor.capture.transport import AllowlistTransport
from auditor.errors import CaptureFailedError
from auditor.platforms.definition import Platform

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


class _AllowlistChannel(SSHChannel):
    """A channel that sends only what the allowlist lets through."""

    def __init__(self, channel: Any, allowlist: Allowlist) -> None:
        super().__init__(conn=channel.remote_conn, encoding=channel.encoding)
        self._allowlist = allowlist

    def write_channel(self, out_data: str) -> None:
        self._allowlist.check(out_data)
        assert self.remote_conn is not None
        self.remote_conn.sendall(out_data.encode())


_PLAIN_SHELL = "linux"
"""What netmiko calls the shell of a device that it has no type for."""


class _ReadOnly:
    """Takes out of a netmiko connection all that sends something by itself, and puts the allowlist before the wire."""

    allowlist: Allowlist
    known: KnownHosts
    credentials: Credentials
    channel: Any
    host: str
    port: int

    def _build_ssh_client(self) -> paramiko.SSHClient:
        client: paramiko.SSHClient = super()._build_ssh_client()  # type: ignore[misc]
        self.known.load_into(client, self.host, self.port)
        client.set_missing_host_key_policy(self.known)
        return client

    def _connect_params_dict(self) -> dict[str, Any]:
        own = {"look_for_keys": self.credentials.look_for_keys, "key_filename": self.credentials.keys}
        given: dict[str, Any] = super()._connect_params_dict()  # type: ignore[misc]
        allowlisted = partial(AllowlistTransport, self.allowlist)
        return {**given, **own, "transport_factory": allowlisted, "channel_timeout": given["timeout"]}

    def establish_connection(self, *args: Any, **kwargs: Any) -> None:
        super().establish_connection(*args, **kwargs)  # type: ignore[misc]
        self.channel = _AllowlistChannel(self.channel, self.allowlist)

    def special_login_handler(self, *_args: Any, **_kwargs: Any) -> None:
        """Sends nothing."""

    def _try_session_preparation(self, *_args: Any, **_kwargs: Any) -> None:
        """Sends nothing."""

    def session_preparation(self, *_args: Any, **_kwargs: Any) -> None:
        """Sends nothing."""

    def cleanup(self, *_args: Any, **_kwargs: Any) -> None:
        """Sends nothing."""


def connect(target: Target, platform: Platform, allowlist: Allowlist, clock: Clock) -> Any:
    """Return a connection of netmiko's, logged in, to which nothing was written yet.

    Raises:
        CaptureFailedError: it failed, or the time is over.
        OSError: nothing answers.
    """
    kind = platform.name if platform.name in CLASS_MAPPER else _PLAIN_SHELL
    credentials = target.credentials
    if credentials.key_file and not Path(credentials.key_file).expanduser().is_file():
        raise CaptureFailedError(f"the key file {credentials.key_file} is not there")
    own = {"allowlist": allowlist, "known": target.known, "credentials": credentials}
    reader = type("Reader", (_ReadOnly, CLASS_MAPPER[kind]), own)
    timeout = max(0.1, min(10.0, clock.left()))
    ways: list[Any] = []
    with Watch(clock, ways) as watch:
        ways.append(target.connect(timeout))
        try:
            connection = (
                None
                if watch.bitten
                else reader(
                    device_type=kind,
                    host=target.host,
                    port=target.port,
                    username=credentials.user,
                    password=credentials.password,
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
            raise _failure(error, target, clock, ended=watch.bitten) from None
    if watch.bitten:
        reach.close(ways[0])
        raise _failure(TimeoutError(), target, clock, ended=True)
    return connection


def _failure(error: BaseException, target: Target, clock: Clock, *, ended: bool) -> BaseException:
    """Return what it means that a connection failed; ``ended``: it was ended from here.

    Raises:
        CaptureFailedError: the round was stopped, or it is the device's host key.
    """
    if ended and clock.left() <= 0:
        return late()
    if isinstance(error, NetmikoAuthenticationException):
        return login_failed("it", target.credentials.user, error)
    if isinstance(error, NetmikoTimeoutException | OSError | EOFError | paramiko.SSHException):
        target.known.check_changed(error, target.host)
        return failure_of(error)
    return error
