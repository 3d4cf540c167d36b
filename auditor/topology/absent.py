"""Names of interfaces that nothing makes: whoever lies on such a one, joins it or is it, is not what it seems."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from auditor.platforms.names import NameBook
from auditor.reading.row_models import ReadRows
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.row import Row
from auditor.reading.source import Ref

_ON: tuple[FieldName, ...] = ("parent", "bridge", "members")
_IN_TABLES: tuple[FieldName, ...] = ("bridge", "tagged_ports", "untagged_ports")


class Makers:
    """The interfaces that a capture makes, where a dialect tells what there is without a line.

    Args:
        book: the dialect's names.
        elsewhere: names of what is not read, which may be interfaces.
        rows: all rows.
    """

    def __init__(self, book: NameBook, elsewhere: Collection[str], rows: ReadRows) -> None:
        self._book = book
        self._rows = rows
        made = [row for row in rows.interface if row.says("kind")]
        named = {name for row in made for name in (row.name or row.alias, *row.in_lists) if name}
        lists = {name for row in rows.interface for name in row.in_lists}
        self._made = {*elsewhere, *lists, *named, *(row.interface for row in rows.wifi)}
        self._renamed = {row.alias for row in made if row.alias and row.name not in ("", row.alias)}

    def there(self, name: str) -> bool:
        """Return whether an interface of a name is there, as far as the capture says."""
        name = self._book.canonical(name)
        return name in self._made or not (name in self._renamed or self._book.is_made(name))

    def absent(self) -> Iterator[Ref]:
        """Yield the lines that name interfaces which are not there."""
        rows = self._rows
        for row in rows.interface:
            if row.kind != "network":
                about = row.relays or row.relay_to or (row.bridge and self._book.tell(row.name)[0] == "port")
                yield from self._lines(row, *_ON, *(("name",) if about and not row.says("kind") else ()))
        for each in rows.vlan:
            yield from self._lines(each, *_IN_TABLES)
        for wifi in (*rows.wifi, *rows.wifi_profile):
            yield from self._lines(wifi, "bridge", "master")
        for line in rows.system:
            yield from self._lines(line, "names_on", "names_by", "names_off", "only_on")

    def _lines(self, row: Row, *names: FieldName) -> Iterator[Ref]:
        for field in names if not row.inactive else ():
            value = row.said.get(field) or ()
            listed = [value] if isinstance(value, str) else value
            if not all(map(self.there, listed)):
                yield from row.refs(field)
