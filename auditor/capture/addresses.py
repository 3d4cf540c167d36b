"""Addresses and host names in one spelling each, so that two of them can be compared."""

from __future__ import annotations

import contextlib
import ipaddress
import socket
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor, wait

_WORKERS = 16
_SECONDS = 20.0
"""How many names are looked up at once, and how long all of them may take."""
_LOCAL = {"0.0.0.0": "127.0.0.1", "::": "::1"}  # noqa: S104 - they are connected to, not listened at
"""Whoever connects to an unspecified address reaches this machine (Linux; common practice, no source)."""


def normalized(host: str) -> str:
    """Return a host in one spelling: an address as the standard library writes it, a name in lower case.

    Short, octal and hexadecimal IPv4 addresses are what the operating system takes them for; an IPv4 address that is
    mapped into IPv6 (RFC 4291, section 2.5.5.2) is that IPv4 address.
    """
    name = host.strip().removesuffix(".").lower()
    for text in (host.strip(), name):
        with contextlib.suppress(OSError, UnicodeError, ValueError):
            found = socket.getaddrinfo(text, None, type=socket.SOCK_STREAM, flags=socket.AI_NUMERICHOST)
            return of_peer(found[0][4])
    with contextlib.suppress(UnicodeError):
        return name.encode("idna").decode()
    return name


def of_peer(peer: tuple[object, ...]) -> str:
    """Return the address in what the socket module calls an address: with its zone where it has one."""
    address = ipaddress.ip_address(str(peer[0]).partition("%")[0])
    mapped = getattr(address, "ipv4_mapped", None)
    text = str(mapped or address)
    zone = peer[3] if len(peer) > 3 and not mapped else 0
    return f"{text}%{zone}" if zone else _LOCAL.get(text, text)


def is_address(host: str) -> bool:
    """Return whether a host in its one spelling is an address and not a name."""
    with contextlib.suppress(ValueError):
        ipaddress.ip_address(host)
        return True
    return False


def resolved(hosts: Iterable[str]) -> dict[str, frozenset[str]]:
    """Return the addresses of hosts, each by its spelling there; of a name that is not found, the name alone."""
    found = {host: frozenset({normalized(host)}) for host in hosts}
    names = [host for host, (one,) in found.items() if not is_address(one)]
    pool = ThreadPoolExecutor(max(1, min(_WORKERS, len(names))))
    looked_up = {host: pool.submit(_looked_up, host) for host in names}
    wait(looked_up.values(), timeout=_SECONDS)
    pool.shutdown(wait=False, cancel_futures=True)
    for host, future in looked_up.items():
        if future.done() and not future.cancelled():
            found[host] = future.result() or found[host]
    return found


def _looked_up(name: str) -> frozenset[str]:
    try:
        found = socket.getaddrinfo(name, None, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        return frozenset()
    return frozenset(of_peer(each[4]) for each in found)
