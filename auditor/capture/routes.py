"""The ways to devices, settled before anything is connected to: where each is, and over which jump hosts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from auditor.capture.addresses import normalized
from auditor.capture.credentials import Credentials, Wallet
from auditor.capture.peers import Address
from auditor.capture.sshconfig.lookup import Configuration, HostSettings, Names
from auditor.errors import UsageError

_MOST_HOPS = 4
_HOP = re.compile(r"(?:ssh://)?(?:(?P<user>.+)@)?(?:\[(?P<v6>[^\]]+)\]|(?P<host>[^:\[\]@]+))(?::(?P<port>\d{1,5}))?/?")


@dataclass(frozen=True, slots=True)
class JumpHost:
    """A jump host: what it is called, where it is, and how to get in."""

    name: str
    host: str
    port: int
    credentials: Credentials

    def __str__(self) -> str:
        return f"{self.name} ({at(self.host, self.port)})"


@dataclass(frozen=True, slots=True)
class Route:
    """The way to a device.

    Attributes:
        host, port: what is connected to, from here or from the last jump host.
        credentials: how to get in there.
        hops: the jump hosts, the nearest first.
        remarks: what is remarkable about it.
    """

    host: str
    port: int
    credentials: Credentials
    hops: tuple[JumpHost, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def first(self) -> str:
        """The host that is connected to from here: the device, or the nearest jump host."""
        return self.hops[0].host if self.hops else self.host

    def ends(self, addresses: Mapping[str, frozenset[str]]) -> list[tuple[Address, ...]]:
        """Return where it may end, each with the jump hosts before it: two ways that share one lead to the same place.

        Args:
            addresses: those of ``first``.
        """
        steps = [*((hop.host, hop.port) for hop in self.hops), (self.host, self.port)]
        later = [(normalized(host), port) for host, port in steps[1:]]
        return [((address, steps[0][1]), *later) for address in sorted(addresses[self.first])]


def at(host: str, port: int) -> str:
    """Return host and port in one word."""
    return f"[{host}]:{port}" if ":" in host else f"{host}:{port}"


class Routes:
    """Settles ways.

    Args:
        configuration: what the user's SSH configuration says.
        wallet: has the credentials of the devices and jump hosts.
    """

    def __init__(self, configuration: Configuration, wallet: Wallet) -> None:
        self._configuration = configuration
        self._wallet = wallet

    def to(self, device: str, names: Names) -> Route:
        """Return the way to a device.

        Raises:
            UsageError: the SSH configuration says something of it, or of a jump host, that is not carried out; or a
                user, key or secret cannot be used.
        """
        said = self._configuration.of(names)
        credentials = self._wallet.of(device, said.user, said.key_files, agent=said.agent)
        hops = self._hops(said, frozenset())
        if len(hops) > _MOST_HOPS:
            raise UsageError(f"the SSH configuration has more than {_MOST_HOPS} jump hosts on the way to {names.shown}")
        return Route(said.host, said.port, credentials, hops, tuple(said.remarks))

    def _hops(self, said: HostSettings, seen: frozenset[str]) -> tuple[JumpHost, ...]:
        """Return the jump hosts before a host; the first of them may have some of its own before it."""
        found: list[JumpHost] = []
        for number, text in enumerate(said.jumps):
            match = _HOP.fullmatch(text)
            assert said.jumps_from is not None
            if match is None or not 0 < int(match["port"] or 22) < 65536:
                raise said.jumps_from.wrong(f"has {text!r} in it, which is no [user@]host[:port]")
            name = match["v6"] or match["host"]
            if name in seen:
                raise said.jumps_from.wrong(f"leads by way of {name} back to {name}")
            own = self._configuration.of(Names((name,), shown=f"the jump host {name}"), way_is_given=number > 0)
            credentials = self._wallet.of(name, match["user"] or own.user, own.key_files, agent=own.agent)
            found += self._hops(own, seen | {name})
            found.append(JumpHost(name, own.host, int(match["port"] or own.port), credentials))
        return tuple(found)
