"""A row: what one record of a template says, with a type for each value, and where it says so."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any, Self, cast, get_args, get_origin, get_type_hints

from auditor.core.values import VlanSet
from auditor.reading.fields import Addresses, Flag, GroupAddresses, Netmask, OffFlag, Servers, WordList
from auditor.reading.row_models.field_names import FieldName, Fields
from auditor.reading.source import Ref, Refs

_NO_LINES: Mapping[str, tuple[int, ...]] = MappingProxyType({})


class Row:
    """A record of any feature.

    What it says are its own attributes; what it leaves unsaid has the value that stands in its class. ``head`` is the
    first line of its section; the lines of single values are worked out when they are asked for.
    ``inactive``: the statement is there but switched off, as if it were not.
    """

    __slots__ = ("__dict__", "_numbers", "_trace", "head")

    inactive: OffFlag = False

    def __init__(
        self,
        said: dict[str, Any],
        head: Ref,
        trace: Mapping[str, tuple[int, ...]] = _NO_LINES,
        numbers: Sequence[int] = (),
    ) -> None:
        self.__dict__ = said
        self.head = head
        self._trace = trace
        self._numbers = numbers

    @classmethod
    @cache
    def types(cls) -> dict[str, Any]:
        """Return the type of each field, with what turns text into it."""
        return get_type_hints(cls, include_extras=True)

    @classmethod
    def lists(cls) -> set[str]:
        """Return the fields that grow where more is said."""
        kinds = {
            name: get_args(kind)[0] if get_origin(kind) is Annotated else kind for name, kind in cls.types().items()
        }
        return {name for name, kind in kinds.items() if kind is VlanSet or get_origin(kind) is tuple}

    @classmethod
    def fields(cls, *names: FieldName) -> Fields:
        """Return some fields, or all.

        Raises:
            ValueError: these rows have no such field.
        """
        known = cls.types()
        unknown = [name for name in names if name not in known]
        if unknown:
            raise ValueError(f"{cls.__name__} has no field {unknown[0]}")
        return frozenset(names or cast("Fields", frozenset(known)))

    @property
    def said(self) -> dict[str, Any]:
        """All that it says, by field."""
        return self.__dict__

    def says(self, name: FieldName) -> bool:
        """Return whether it says a value."""
        return name in self.__dict__

    def says_any(self, names: Fields) -> bool:
        """Return whether it says one of some values at least."""
        return not names.isdisjoint(self.__dict__)

    def as_of(self, name: str, *without: FieldName) -> Self:
        """Return the row under another name, without some of its values."""
        said = {field: value for field, value in self.__dict__.items() if field not in without}
        return type(self)({**said, "name": name}, self.head, self._trace, self._numbers)

    def refs(self, name: FieldName) -> Refs:
        """Return the lines of a value; none where the row does not have it."""
        if name in self._trace:
            return tuple(Ref(self.head.source, self._numbers[index]) for index in self._trace[name])
        return (self.head,) if name in self.__dict__ else ()

    def at(self, *names: FieldName) -> Refs:
        """Return the lines of some values; the section's first line where they have none."""
        return tuple(ref for name in names for ref in self.refs(name)) or (self.head,)

    def each(self) -> Iterator[tuple[str, Any, Sequence[int]]]:
        """Yield each value with the numbers of its lines; what the section says of itself with those of all of it."""
        for name, value in self.__dict__.items():
            if name in self._trace:
                yield name, value, [self._numbers[index] for index in self._trace[name]]
            else:
                yield name, value, [self.head.line, *self._numbers]


class Layer3Fields(Row):
    """What may stand wherever a dialect puts a layer-3 interface.

    ``shared_used``, ``relay_used``: whether the shared addresses or the relay are in use; ``dhcp_server``: whether
    DHCP is served on it. ``shared_groups`` are shared addresses of several groups, the group's number before each;
    those of the groups in ``shared_on`` are in use.
    """

    addresses: Addresses = ()
    netmask: Netmask = ""
    shared_addresses: Addresses = ()
    shared_groups: GroupAddresses = ()
    shared_on: WordList = ()
    relay_to: Servers = ()
    method: str = ""
    shared_used: Flag = True
    relay_used: Flag = True
    dhcp_server: Flag = False


LAYER3: Fields = Layer3Fields.fields() - Row.fields()
"""The fields of a layer-3 interface."""
