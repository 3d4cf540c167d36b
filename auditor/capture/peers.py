"""What was really reached: two devices of a run that turn out to be one are both not counted as captured."""

from __future__ import annotations

import threading
from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

Address = tuple[str, int]
Key = TypeVar("Key", bound=Hashable)
Result = TypeVar("Result")
_MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class Peer:
    """What was reached.

    Attributes:
        place: address and port; behind jump hosts, as the last of them was given them, in one spelling.
        via: the jump hosts in the same way, the nearest first: the first by the address that really answered.
        key: the host key that it presented.
    """

    place: Address
    via: tuple[Address, ...]
    key: bytes

    def is_one_with(self, other: Peer) -> bool:
        """Return whether both are one device: the same way to it, or the same address with the same host key."""
        return self.place == other.place and (self.via == other.via or self.key == other.key)


@dataclass(frozen=True, slots=True)
class Settled(Generic[Key, Result]):
    """A result that can be counted: with the devices that are the same one, and those with the same host key."""

    result: Result
    same: list[Key]
    same_key: list[Key]


class Peers(Generic[Key, Result]):
    """Holds the results of devices back until those have been reached that may turn out to be the same device.

    Which these are is known before: a device is read only if it presents a host key that is known for it.

    Args:
        known: for each device, the host keys that are known for it.
        owners: for each, what it is a device of: those of one owner are one device that is read more than once.
    """

    def __init__(self, known: Mapping[Key, frozenset[bytes]], owners: Mapping[Key, Hashable]) -> None:
        self._owners = owners
        self._lock = threading.Lock()
        self._reached: dict[Key, set[Peer]] = defaultdict(set)
        self._ended: set[Key] = set()
        self._held: dict[Key, Result] = {}
        by_key: dict[bytes, set[Key]] = defaultdict(set)
        for device, keys in known.items():
            for key in keys:
                by_key[key].add(device)
        self._rivals = {
            device: frozenset(other for key in keys for other in by_key[key] if owners[other] != owners[device])
            for device, keys in known.items()
        }

    def reached(self, device: Key, peer: Peer) -> None:
        """Take note of what was reached as a device."""
        with self._lock:
            self._reached[device].add(peer)

    def due(self) -> list[Settled[Key, Result]]:
        """Return what can be counted by now."""
        with self._lock:
            return list(self._settled())

    def ended(self, device: Key, result: Result) -> list[Settled[Key, Result]]:
        """Take note of a device's result; return what can be counted now."""
        with self._lock:
            self._ended.add(device)
            self._held[device] = result
            return list(self._settled())

    def rest(self) -> list[Settled[Key, Result]]:
        """Return what is still held back: nothing more will be reached."""
        with self._lock:
            self._ended.update(self._rivals)
            return list(self._settled())

    def _settled(self) -> Iterator[Settled[Key, Result]]:
        for device in list(self._held):
            if all(other in self._ended or other in self._reached for other in self._rivals[device]):
                yield self._judged(device, self._held.pop(device))

    def _judged(self, device: Key, result: Result) -> Settled[Key, Result]:
        own = self._reached[device]
        others = {
            other: peers
            for other, peers in self._reached.items()
            if peers and self._owners[other] != self._owners[device]
        }
        same = [o for o, peers in others.items() if any(a.is_one_with(b) for a in own for b in peers)]
        keys = {peer.key for peer in own}
        same_key = [o for o, peers in others.items() if o not in same and keys & {peer.key for peer in peers}]
        return Settled(result, same, same_key)


def listed(names: list[str]) -> str:
    """Return a few of the names, sorted, and how many more there are."""
    shown = sorted(names)[:_MOST_NAMED]
    more = len(names) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")
