"""The one door to TextFSM: a template and a section's lines in, typed records with their line indexes out.

TextFSM reads and checks the templates; its loop is replaced by one that knows at which line a value was found, goes
on after a line that no rule wants (``-> Error``), and remembers lines and whole sections that it has read before,
for the ports of a switch are much alike. Of the options of a Value only ``List`` is supported.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from textfsm import TextFSM, TextFSMError, TextFSMTemplateError  # type: ignore[import-untyped]

from auditor.errors import PlatformError
from auditor.reading.fields import HELD_BLANK, freed
from auditor.reading.known import KnownLines, Told
from auditor.reading.row_models import FEATURES, PORT_LISTS, converters, together
from auditor.reading.source import Disposition
from auditor.reading.words import Words

_REMEMBERED = 8192


@dataclass(slots=True)
class Record:
    """One row of a template: typed values, and for each the indexes of the lines that it came from."""

    values: dict[str, Any]
    trace: dict[str, tuple[int, ...]]


@dataclass(slots=True)
class Parsed:
    """What a template made of a body: its rows, what became of each line, and what is known of some, by index."""

    records: list[Record]
    kinds: bytes
    told: dict[int, Told]


Preparation = Callable[[str], tuple[str, Disposition]]
"""Makes of a line what a template reads, and says what became of it; a line that it need not see becomes empty."""


def as_it_stands(line: str) -> tuple[str, Disposition]:
    """Return a line that a layout has made for the template."""
    return line, Disposition.READ


class Template:
    """A compiled TextFSM template of one feature.

    ``known`` tells of lines that no rule wants; ``prepare`` makes what the template reads of a line; ``nests`` says
    that what is indented deeper than a line hangs below it.

    Raises:
        PlatformError: the template is broken, or has a Value that the feature's row model does not know.
    """

    def __init__(
        self,
        name: str,
        text: str,
        typing: Typing,
        known: KnownLines,
        prepare: Preparation = as_it_stands,
        *,
        nests: bool = False,
    ) -> None:
        self.name = name
        self.feature = name.partition(".")[0]
        if self.feature not in FEATURES:
            raise PlatformError(f"template {name}: no feature is called {self.feature}; known: {', '.join(FEATURES)}")
        try:
            parsed = TextFSM(io.StringIO(text))
        except (TextFSMError, TextFSMTemplateError) as error:
            raise PlatformError(f"template {name}: {error}") from error
        self.value_names: list[str] = list(parsed.header)
        self.states: dict[str, list[str]] = {
            state: [str(rule).strip() for rule in rules] for state, rules in parsed.states.items()
        }
        self.model = FEATURES[self.feature]
        fields = self.model.types()
        unknown = [value for value in self.value_names if value.lower() not in fields]
        if unknown:
            raise PlatformError(
                f"template {name}: Value {unknown[0]} is no field of {self.feature}: {', '.join(fields)}"
            )
        self._machine = _Machine(name, parsed, typing, known, prepare, nests=nests)
        single = [v.name for v in parsed.values if v.OptionNames() and v.name.lower() not in self.model.lists()]
        if single:
            raise PlatformError(f"template {name}: Value {single[0]} is a List, and its field holds one value")
        self._remembered: dict[str, Parsed] = {}

    def read(self, body: str) -> Parsed:
        """Run the template over a section's body, lines with their ends."""
        outcome = self._remembered.get(body)
        if outcome is None:
            outcome = self._machine.run(body.split("\n")[:-1])
            if len(self._remembered) >= _REMEMBERED:
                self._remembered.clear()
            self._remembered[body] = outcome
        return outcome

    def forget(self) -> None:
        """Forget what was read before."""
        self._remembered.clear()
        self._machine.forget()


class Typing:
    """Turns the text of a feature's values into types, the dialect's words into ours.

    ``ports`` makes the names of a range or a list of ports; without it, a list is as long as it is written.
    """

    def __init__(self, feature: str, words: Words, ports: Callable[[str], list[str]] | None = None) -> None:
        self._tables = words.of_feature(feature)
        self._convert: dict[str, Callable[[Any], Any]] = converters(feature)
        self._ports = ports

    def values(self, texts: dict[str, str]) -> dict[str, Any]:
        """Return the values of some fields.

        Raises:
            ValueError: there is no such field, or a text is no value of it.
        """
        unknown = [name for name in texts if name not in self._convert]
        if unknown:
            raise ValueError(f"{unknown[0]} is no field: {', '.join(self._convert)}")
        return {name: self.value(name, text) for name, text in texts.items()}

    def value(self, name: str, text: Any) -> Any:
        """Return the value of a field.

        Raises:
            ValueError: the text is no such thing, or a word that the platform's table does not know.
        """
        if known := self._tables.get(name):
            text = known(text) if isinstance(text, str) else [known(part) for part in text]
        value = self._convert[name](text)
        if self._ports and name in PORT_LISTS:
            value = tuple(port for listed in value for port in self._ports(listed))
        return freed(value) if HELD_BLANK in "".join(text) else value


_Step = tuple[tuple[tuple[str, Any, bool], ...], str]
"""What one matching rule does: its values by field, each with whether it is one of a list; and the record operation."""
_Taken = tuple[Disposition, tuple[_Step, ...], str, Told | None]
"""What became of a line in a state, what it does, the next state, and what is known of it if no rule wants it."""
_NOT_UNDERSTOOD = Told(Disposition.NOT_UNDERSTOOD, "", block=True)


class _Machine:
    """Runs the rules of a parsed template; what a line does in a state is worked out once."""

    def __init__(
        self, name: str, parsed: Any, typing: Typing, known: KnownLines, prepare: Preparation, *, nests: bool
    ) -> None:
        options = {value.name: value.OptionNames() for value in parsed.values}
        for value, names in options.items():
            if set(names) - {"List"}:
                raise PlatformError(f"template {name}: Value {value}: only the option List is supported")
        self._lists = {value.lower() for value, names in options.items() if names}
        self._states = {state: _State(rules) for state, rules in parsed.states.items()}
        self._record_at_end = "EOF" not in self._states
        self._typing = typing
        self._known = known
        self._nests = nests
        self._prepare = prepare
        self._taken: dict[tuple[str, str], _Taken] = {}

    def forget(self) -> None:
        self._taken.clear()

    def run(self, lines: list[str]) -> Parsed:
        """Return the rows that lines make, and what became of each line."""
        records: list[Record] = []
        kinds = bytearray()
        values: dict[str, Any] = {}
        trace: dict[str, tuple[int, ...]] = {}
        state = "Start"
        known: dict[int, Told] = {}
        block: tuple[int, Told] | None = None
        for index, line in enumerate(lines):
            if block is not None:
                if not line.strip() or _indent(line) > block[0]:
                    kinds.append(block[1].kind if line.strip() else Disposition.BLANK)
                    continue
                block = None
            kind, steps, state, told = self._taken.get((state, line)) or self._take(state, line)
            kinds.append(kind)
            if told:
                if told.kind != Disposition.NOT_UNDERSTOOD:
                    known[index] = told
                if self._nests and (told.block or told.kind > Disposition.READ) and (indent := _indent(line)):
                    block = (indent, told)
            for found, record in steps:
                for name, value, listed in found:
                    if listed and name in values:
                        values[name] = together(values[name], value)
                        trace[name] = (*trace[name], index)
                    else:
                        values[name] = value
                        trace[name] = (index,)
                if record:
                    if values and record == "Record":
                        records.append(Record(values, trace))
                    values, trace = {}, {}
        if values and self._record_at_end:
            records.append(Record(values, trace))
        return Parsed(records, bytes(kinds), known)

    def _take(self, state: str, line: str) -> _Taken:
        """Pass a line through the rules of a state."""
        text, kind = self._prepare(line)
        steps: tuple[_Step, ...] = ()
        following = state
        told: Told | None = None
        if text:
            wanted, steps, following = self._match(text, state)
            if not wanted:
                told = self._known.of(text) or _NOT_UNDERSTOOD
                kind = told.kind
            elif self._known.though_read and (told := self._known.though_read.of(text)):
                kind = told.kind
        taken = (kind, steps, following, told)
        if len(self._taken) >= _REMEMBERED:
            self._taken.clear()
        self._taken[state, line] = taken
        return taken

    def _match(self, text: str, state: str) -> tuple[bool, tuple[_Step, ...], str]:
        """Return whether some rule wanted the line and its values are of their types, what is done, the next state."""
        steps: list[_Step] = []
        for rule, groups in self._states[state].matching(text):
            if rule.line_op == "Error":
                return False, tuple(((), record) for _, record in steps), state
            try:
                values = tuple(self._value(name, part) for name, part in groups)
            except ValueError:
                return False, (), state
            steps.append((values, rule.record_op))
            if rule.line_op != "Continue":
                return True, tuple(steps), rule.new_state or state
        return bool(steps), tuple(steps), state

    def _value(self, name: str, text: str) -> tuple[str, Any, bool]:
        listed = name in self._lists
        return name, self._typing.value(name, [text] if listed else text), listed


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


class _State:
    """The rules of a state. Where each line has one rule at most, all are tried at once as one pattern."""

    def __init__(self, rules: list[Any]) -> None:
        self._rules = [(rule, re.compile(rule.regex)) for rule in rules]
        self._single = all(rule.line_op != "Continue" for rule in rules) and bool(rules)
        renamed = [re.sub(r"\(\?P<(\w+)>", rf"(?P<\1__{index}>", rule.regex) for index, rule in enumerate(rules)]
        whole = "|".join(f"(?P<rule_{index}>{pattern})" for index, pattern in enumerate(renamed))
        self._pattern = re.compile(whole if self._single else r"(?!)")
        self._groups: list[list[tuple[str, str]]] = [[] for _ in rules]
        for group in self._pattern.groupindex:
            name, separator, index = group.rpartition("__")
            if separator:
                self._groups[int(index)].append((group, name.lower()))

    def matching(self, text: str) -> Iterator[tuple[Any, list[tuple[str, str]]]]:
        """Yield the rules that match, in their order, with the text of their values by field."""
        if self._single:
            found = self._pattern.match(text)
            if found and found.lastgroup:
                index = int(found.lastgroup[5:])
                rule = self._rules[index][0]
                yield rule, [(name, found[group]) for group, name in self._groups[index] if found[group] is not None]
            return
        for rule, pattern in self._rules:
            found = pattern.match(text)
            if found:
                yield rule, [(name.lower(), part) for name, part in found.groupdict().items() if part is not None]
