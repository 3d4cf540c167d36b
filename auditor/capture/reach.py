"""The way to a device: what the user's OpenSSH configuration says of it, the socket, and jump hosts on the way."""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import paramiko

from auditor.capture.credentials import Credentials
from auditor.capture.failures import CaptureFailedError, TransientError, login_failed
from auditor.capture.hostkeys import KnownHosts

_MOST_HOPS = 4
_WAY = "way"
"""Under which a channel through a jump host keeps the connection to it, as long as it lives."""


@dataclass(frozen=True, slots=True)
class Place:
    """What the SSH configuration makes of a host."""

    host: str
    port: int = 22
    user: str = ""
    key_files: list[str] = field(default_factory=list)
    jumps: list[str] = field(default_factory=list)


class Reach:
    """Opens ways to hosts.

    Args:
        config: an OpenSSH client configuration file; it need not be there.
        known: the known host keys.
        credentials: gives the credentials of a jump host, by its name, the user and the key files said there.
    """

    def __init__(
        self,
        config: Path | None,
        known: KnownHosts,
        credentials: Callable[[str, str, list[str]], Credentials],
    ) -> None:
        self._config = paramiko.SSHConfig()
        if config and config.is_file():
            self._config = paramiko.SSHConfig.from_path(str(config))
        self._known = known
        self._credentials = credentials

    def place(self, *names: str) -> Place:
        """Return where a host is: by the first of its names that the configuration knows, or by the last itself."""
        hosts = self._config.get_hostnames() - {"*"}
        name = next((name for name in names if name in hosts), names[-1])
        said = self._config.lookup(name)
        jump = said.get("proxyjump", "none")
        return Place(
            host=said["hostname"] if name in hosts else names[-1],
            port=int(said.get("port", 22)),
            user=said.get("user", ""),
            key_files=list(said.get("identityfile", [])),
            jumps=[] if jump.lower() == "none" else [hop.strip() for hop in jump.split(",")],
        )

    def open(self, place: Place, timeout: float) -> Any:
        """Return a socket, or a channel through the jump hosts, to a place.

        Raises:
            CaptureFailedError: a jump host does not let us through.
            OSError: nothing answers.
        """
        hops = [*place.jumps]
        if len(hops) > _MOST_HOPS:
            raise CaptureFailedError(f"the SSH configuration has more than {_MOST_HOPS} jump hosts on the way")
        if not hops:
            return direct(place.host, place.port, timeout)
        channel = None
        for number, hop in enumerate(hops):
            user, _, rest = hop.rpartition("@")
            name, _, port = rest.partition(":")
            at = self.place(name)
            at = Place(at.host, int(port or at.port), user or at.user, at.key_files)
            below = channel
            try:
                client = self._through(name, at, channel, timeout)
                channel = _channel(client, name, self._next(hops, number, place), timeout)
            except BaseException:
                close(below)
                raise
        return channel

    def _next(self, hops: list[str], number: int, place: Place) -> tuple[str, int]:
        if number + 1 == len(hops):
            return place.host, place.port
        name, _, port = hops[number + 1].rpartition("@")[2].partition(":")
        at = self.place(name)
        return at.host, int(port or at.port)

    def _through(self, name: str, at: Place, channel: Any, timeout: float) -> paramiko.Transport:
        """Return the transport to a jump host."""
        client = paramiko.SSHClient()
        self._known.load_into(client, at.host, at.port)
        client.set_missing_host_key_policy(self._known)
        credentials = self._credentials(name, at.user, at.key_files)
        try:
            client.connect(
                at.host,
                at.port,
                credentials.user,
                credentials.password,
                key_filename=credentials.key_file,
                look_for_keys=credentials.look_for_keys,
                allow_agent=credentials.agent,
                timeout=timeout,
                auth_timeout=timeout,
                banner_timeout=timeout,
                sock=channel or direct(at.host, at.port, timeout),
            )
        except paramiko.AuthenticationException as error:
            client.close()
            raise login_failed(f"the jump host {name}", credentials.user, error) from None
        except (OSError, EOFError, paramiko.SSHException) as error:
            client.close()
            self._known.check_changed(error, at.host)
            raise TransientError(f"the jump host {name} does not let us through: {type(error).__name__}") from error
        transport = client.get_transport()
        assert transport is not None
        return transport


def _channel(client: paramiko.Transport, name: str, behind: tuple[str, int], timeout: float) -> paramiko.Channel:
    """Return a channel through a jump host that keeps the connection to it.

    Raises:
        CaptureFailedError: the jump host gives none.
    """
    try:
        channel = client.open_channel("direct-tcpip", behind, ("127.0.0.1", 0), timeout=timeout)
    except (OSError, EOFError, paramiko.SSHException) as error:
        client.close()
        why = error.text if isinstance(error, paramiko.ChannelException) else "it gave no answer in time"
        raise TransientError(
            f"the jump host {name} cannot reach it ({why}): is it on, is the address right, and may {name} forward?"
        ) from error
    channel.__dict__[_WAY] = client
    return channel


def cut(way: Any) -> None:
    """End a socket or channel at once, so that whoever waits for it learns of it; it is still to be closed."""
    if isinstance(way, paramiko.Channel):
        way.close()
        return
    with contextlib.suppress(OSError):
        way.shutdown(socket.SHUT_RDWR)


def close(way: Any) -> None:
    """Close what ``open`` has returned, and the ways through jump hosts that lie below it."""
    while way is not None:
        below = vars(way).get(_WAY) if isinstance(way, paramiko.Channel) else None
        way.close()
        way = below.sock if below else None
        if below:
            below.close()


def direct(host: str, port: int, timeout: float) -> socket.socket:
    """Return a socket that sends what it is given at once.

    Raises:
        OSError: nothing answers.
    """
    sock = socket.create_connection((host, port), timeout=timeout)
    sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return sock
