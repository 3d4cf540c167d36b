"""Facts with their place in the capture, and the evidence of the settings that are built from them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

from auditor.core.state import Setting
from auditor.platforms.definition import Default


class Ref(NamedTuple):
    """A line of a capture: which of its files, and the line number (0: no line at all)."""

    source: int
    line: int


Refs = tuple[Ref, ...]


class ReadRow:
    """One typed row, and where its values stand.

    ``head`` is the first line of its section; the lines of single values are worked out when they are asked for.
    """

    __slots__ = ("_numbers", "_trace", "head", "values")

    def __init__(
        self,
        values: dict[str, Any],
        head: Ref,
        trace: dict[str, tuple[int, ...]] | None = None,
        numbers: Sequence[int] = (),
    ) -> None:
        self.values = values
        self.head = head
        self._trace = trace or {}
        self._numbers = numbers

    def as_of(self, name: str, *without: str) -> ReadRow:
        """Return the row under another name, without some of its values."""
        values = {field: value for field, value in self.values.items() if field not in without}
        return ReadRow({**values, "name": name}, self.head, self._trace, self._numbers)

    def get(self, name: str, default: Any = None) -> Any:
        """Return a value, or the default where the row says nothing."""
        return self.values.get(name, default)

    def refs(self, name: str) -> Refs:
        """Return the lines of a value; none where the row does not have it."""
        if name in self._trace:
            return tuple(Ref(self.head.source, self._numbers[index]) for index in self._trace[name])
        return (self.head,) if name in self.values else ()

    def at(self, *names: str) -> Refs:
        """Return the lines of some values; the section's first line where they have none."""
        return tuple(ref for name in names for ref in self.refs(name)) or (self.head,)

    def each(self) -> Iterator[tuple[str, Any, Sequence[int]]]:
        """Yield each value with the numbers of its lines; what the section says of itself with those of all of it."""
        for name, value in self.values.items():
            if name in self._trace:
                yield name, value, [self._numbers[index] for index in self._trace[name]]
            else:
                yield name, value, [self.head.line, *self._numbers]


ReadRows = dict[str, list[ReadRow]]
"""Facts by feature."""

RowDefaults = dict[str, list[Default]]
"""What lines that are not there mean in this capture, by feature."""


class Sourced(Protocol):
    """Anything that knows the lines of its values."""

    def at(self, *names: str) -> Refs:
        """Return the lines of some values."""


Noted = tuple[Sourced, Mapping[str, Collection[str]]]
"""A source, and for each field of an item the values of the source that it comes from."""


class Evidence:
    """Where each setting was observed; the lines are looked up when somebody asks."""

    def __init__(self) -> None:
        self._noted: dict[tuple[str, str], list[Noted]] = {}
        self._asked: dict[str, Callable[[str], list[Noted]]] = {}

    def note(self, area: str, key: object, source: Sourced, sources: Mapping[str, Collection[str]]) -> None:
        """Remember what an item of an area was read from, beside what was noted before.

        ``sources`` has for each field of the item the values of the source that it comes from; the field ``""``
        stands for the item as a whole.
        """
        self._noted.setdefault((area, str(key)), []).append((source, sources))

    def ask(self, area: str, sources: Callable[[str], list[Noted]]) -> None:
        """Have a whole area answered by a function from the key of an item to what would be noted of it."""
        self._asked[area] = sources

    def of(self, setting: Setting) -> list[Ref]:
        """Return the lines of a setting, or else of its whole item, each once and in order."""
        noted = self._noted.get((setting.area, setting.key), [])
        if setting.area in self._asked:
            noted = noted + self._asked[setting.area](setting.key)
        for name in (setting.field, ""):
            found = {ref for source, names in noted if name in names for ref in source.at(*names[name]) if ref.line}
            if found:
                return sorted(found)
        return []


@dataclass(slots=True)
class ReadingRemark:
    """Something that was read and cannot be kept as a setting; for whoever looks into a capture."""

    ref: Ref
    text: str


def apply_defaults(
    defaults: list[Default], kind: str, values: dict[str, Any], only: Collection[str] | None = None
) -> None:
    """Fill what a row leaves unsaid with what its dialect takes an absent line to mean."""
    for default in defaults:
        wanted = dict(default.where)
        if wanted.pop("kind", kind) == kind and all(values.get(name) == value for name, value in wanted.items()):
            for name, value in default.fields.items():
                if only is None or name in only:
                    values.setdefault(name, value)


class Later:
    """Lines that are worked out from several rows, when somebody asks for them."""

    __slots__ = ("_lines",)

    def __init__(self, lines: Callable[[], Iterable[Ref]]) -> None:
        self._lines = lines

    def at(self, *names: str) -> Refs:  # noqa: ARG002 - the same lines whatever is asked for
        """Return the lines."""
        return tuple(self._lines())
