"""The way to a device is opened: the socket, and the channels through jump hosts."""

from __future__ import annotations

import contextlib
import socket
from typing import Any

import paramiko

from auditor.capture.addresses import normalized, of_peer
from auditor.capture.failures import login_failed
from auditor.capture.hostkeys import KnownHosts
from auditor.capture.peers import Address
from auditor.capture.routes import JumpHost, Route
from auditor.capture.transport import Transport
from auditor.errors import AskedError, CaptureFailedError, TransientError

_WAY = "way"
"""Under which a channel through a jump host keeps the connection to it, as long as it lives."""
_END = "end"
"""Under which it keeps the host and port that the jump host was given."""


def open_way(route: Route, known: KnownHosts, timeout: float) -> Any:
    """Return a socket, or a channel through the jump hosts, to where a way leads.

    Args:
        route: the way.
        known: the known host keys, for those of the jump hosts.
        timeout: seconds for each step.

    Raises:
        CaptureFailedError: a jump host does not let us through.
        OSError: nothing answers.
    """
    if not route.hops:
        return direct(route.host, route.port, timeout)
    channel = None
    behind = [*((hop.host, hop.port) for hop in route.hops[1:]), (route.host, route.port)]
    for hop, end in zip(route.hops, behind, strict=True):
        below = channel
        try:
            channel = _channel(_through(hop, known, channel, timeout), hop.name, end, timeout)
        except BaseException:
            close(below)
            raise
    return channel


def _through(hop: JumpHost, known: KnownHosts, channel: Any, timeout: float) -> paramiko.Transport:
    """Return the transport to a jump host, over the channel of the one before it."""
    client = paramiko.SSHClient()
    known.load_into(client, hop.host, hop.port)
    client.set_missing_host_key_policy(known)
    try:
        client.connect(
            hop.host,
            hop.port,
            hop.credentials.user,
            hop.credentials.password,
            key_filename=hop.credentials.keys,  # type: ignore[arg-type] # it takes several
            look_for_keys=hop.credentials.look_for_keys,
            allow_agent=hop.credentials.agent,
            timeout=timeout,
            auth_timeout=timeout,
            banner_timeout=timeout,
            sock=channel or direct(hop.host, hop.port, timeout),
            transport_factory=Transport,  # type: ignore[arg-type] # the options that it is given
        )
    except AskedError as error:
        client.close()
        raise CaptureFailedError(f"at the jump host {hop.name}: {error.reason}") from None
    except CaptureFailedError:
        client.close()
        raise
    except paramiko.AuthenticationException as error:
        client.close()
        raise login_failed(f"the jump host {hop.name}", hop.credentials.user, error) from None
    except (OSError, EOFError, paramiko.SSHException) as error:
        client.close()
        known.check_changed(error, hop.host)
        raise TransientError(f"the jump host {hop.name} does not let us through: {type(error).__name__}") from error
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
    channel.__dict__[_END] = behind
    return channel


def steps(way: Any) -> tuple[Address, ...]:
    """Return what was reached on a way: the address that really answered, and what each jump host was then given.

    Raises:
        OSError: the connection has ended.
    """
    if isinstance(way, paramiko.Channel):
        kept = vars(way)
        host, port = kept[_END]
        return (*steps(kept[_WAY].sock), (normalized(host), port))
    peer = way.getpeername()
    return ((of_peer(peer), int(peer[1])),)


def cut_off(way: Any) -> None:
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
