"""The one door to TextFSM: a template and a section's lines in, typed records with their line indexes out.

TextFSM reads and checks the templates; its loop is replaced by one that knows at which line a value was found, goes
on after a line that no rule wants (``-> Error``), and remembers lines and whole sections that it has read before,
for the ports of a switch are much alike. Of the options of a Value only ``List`` is supported.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from textfsm import TextFSM, TextFSMError  # type: ignore[import-untyped]

from auditor.errors import PlatformError
from auditor.reading.facts import FEATURES, converters
from auditor.reading.source import Kind
from auditor.reading.words import Words

_REMEMBERED = 8192


@dataclass(slots=True)
class Record:
    """One row of a template: typed values, and for each the indexes of the lines that it came from."""

    values: dict[str, Any]
    trace: dict[str, tuple[int, ...]]


@dataclass(slots=True)
class Outcome:
    """What a template made of a body: its rows, and what became of each line."""

    records: list[Record]
    kinds: bytes


Preparation = Callable[[str], tuple[str, Kind]]
"""Makes of a line what a template reads; of one that it need not see nothing, and says what became of it."""


def as_it_stands(line: str) -> tuple[str, Kind]:
    """Return a line that a layout has made for the template."""
    return line, Kind.READ


class Template:
    """A compiled TextFSM template of one feature.

    ``ignored`` matches lines that are knowingly not audited; ``prepare`` makes what the template reads of a line.

    Raises:
        PlatformError: the template is broken, or has a Value that the feature's row model does not know.
    """

    def __init__(
        self,
        name: str,
        text: str,
        typing: Typing,
        ignored: re.Pattern[str],
        prepare: Preparation = as_it_stands,
    ) -> None:
        self.name = name
        self.feature = name.partition(".")[0]
        if self.feature not in FEATURES:
            raise PlatformError(f"template {name}: no feature is called {self.feature}; known: {', '.join(FEATURES)}")
        try:
            parsed = TextFSM(io.StringIO(text))
        except TextFSMError as error:
            raise PlatformError(f"template {name}: {error}") from error
        self.value_names: list[str] = list(parsed.header)
        self.states: dict[str, list[str]] = {
            state: [str(rule).strip() for rule in rules] for state, rules in parsed.states.items()
        }
        known = FEATURES[self.feature].model_fields
        unknown = [value for value in self.value_names if value.lower() not in known]
        if unknown:
            raise PlatformError(f"template {name}: Value {unknown[0]} is no field of {self.feature}: {', '.join(known)}")
        self._machine = _Machine(name, parsed, typing, ignored, prepare)
        self._remembered: dict[str, Outcome] = {}

    def read(self, body: str) -> Outcome:
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
    """Turns the text of a feature's values into types, the dialect's words into ours."""

    def __init__(self, feature: str, words: Words) -> None:
        self._tables = words.of_feature(feature)
        self._convert: dict[str, Callable[[Any], Any]] = converters(feature)

    def value(self, name: str, text: Any) -> Any:
        """Return the value of a field.

        Raises:
            ValueError: the text is no such thing, or a word that the platform's table does not know.
        """
        if name in self._tables and isinstance(text, str):
            text = self._tables[name](text)
        return self._convert[name](text)


@dataclass(slots=True)
class _Step:
    """What one matching rule does: values by field, whether each is one of a list, and the record operation."""

    values: list[tuple[str, Any, bool]]
    record: str


@dataclass(slots=True)
class _Taken:
    """What became of a line in a state, what it does, and the next state."""

    kind: Kind
    steps: list[_Step]
    state: str


class _Machine:
    """Runs the rules of a parsed template; what a line does in a state is worked out once."""

    def __init__(
        self, name: str, parsed: Any, typing: Typing, ignored: re.Pattern[str], prepare: Preparation
    ) -> None:
        options = {value.name: value.OptionNames() for value in parsed.values}
        for value, names in options.items():
            if set(names) - {"List"}:
                raise PlatformError(f"template {name}: Value {value}: only the option List is supported")
        self._lists = {value for value, names in options.items() if names}
        self._states = {
            state: [(re.compile(rule.regex).match, rule.line_op, rule.record_op, rule.new_state) for rule in rules]
            for state, rules in parsed.states.items()
        }
        self._record_at_end = "EOF" not in self._states
        self._typing = typing
        self._ignored = ignored
        self._prepare = prepare
        self._taken: dict[tuple[str, str], _Taken] = {}

    def forget(self) -> None:
        self._taken.clear()

    def run(self, lines: list[str]) -> Outcome:
        """Return the rows that lines make, and what became of each line."""
        records: list[Record] = []
        kinds = bytearray()
        values: dict[str, Any] = {}
        trace: dict[str, tuple[int, ...]] = {}
        state = "Start"
        for index, line in enumerate(lines):
            taken = self._taken.get((state, line)) or self._take(state, line)
            kinds.append(taken.kind)
            state = taken.state
            for step in taken.steps:
                for name, value, listed in step.values:
                    if listed and name in values:
                        values[name] = values[name] + value
                        trace[name] = (*trace[name], index)
                    else:
                        values[name] = value
                        trace[name] = (index,)
                if step.record:
                    if values and step.record == "Record":
                        records.append(Record(values, trace))
                    values, trace = {}, {}
        if values and self._record_at_end:
            records.append(Record(values, trace))
        return Outcome(records, bytes(kinds))

    def _take(self, state: str, line: str) -> _Taken:
        """Pass a line through the rules of a state."""
        text, kind = self._prepare(line)
        taken = _Taken(kind, [], state)
        if text and not self._match(text, taken):
            taken.kind = Kind.IGNORED if self._ignored.fullmatch(text) else Kind.NOT_UNDERSTOOD
        if len(self._taken) >= _REMEMBERED:
            self._taken.clear()
        self._taken[state, line] = taken
        return taken

    def _match(self, text: str, taken: _Taken) -> bool:
        """Note what the rules that match do; return whether one wanted the line and all its values are of their type."""
        wanted = False
        for match, line_op, record_op, new_state in self._states[taken.state]:
            found = match(text)
            if found is None:
                continue
            if line_op == "Error":
                break
            wanted = True
            values = []
            for name, part in found.groupdict().items():
                if part is None:
                    continue
                listed = name in self._lists
                try:
                    values.append((name.lower(), self._typing.value(name.lower(), [part] if listed else part), listed))
                except ValueError:
                    return False
            taken.steps.append(_Step(values, record_op))
            if line_op != "Continue":
                taken.state = new_state or taken.state
                break
        return wanted
