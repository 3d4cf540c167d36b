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
from auditor.reading.words import Words

_REMEMBERED = 8192


@dataclass(slots=True)
class Record:
    """One row of a template: typed values, and for each the indexes of the lines that it came from."""

    values: dict[str, Any]
    trace: dict[str, tuple[int, ...]]


@dataclass(slots=True)
class Outcome:
    """What a template made of some lines: its rows, and the indexes of lines that it could not or need not read."""

    records: list[Record]
    unread: list[int]
    ignored: list[int]


class Template:
    """A compiled TextFSM template of one feature; ``ignored`` matches lines that are knowingly not audited.

    Raises:
        PlatformError: the template is broken, or has a Value that the feature's row model does not know.
    """

    def __init__(self, name: str, text: str, typing: Typing, ignored: re.Pattern[str]) -> None:
        self.name = name
        self._typing = typing
        self._ignored = ignored
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
            raise PlatformError(
                f"template {name}: Value {unknown[0]} is no field of {self.feature}: {', '.join(known)}"
            )
        self._machine = _Machine(name, parsed)
        self._remembered: dict[tuple[str, ...], Outcome] = {}

    def read(self, lines: list[str]) -> Outcome:
        """Run the template over a section's lines."""
        key = tuple(lines)
        outcome = self._remembered.get(key)
        if outcome is None:
            raw, unwanted = self._machine.run(lines)
            ignored = [index for index in unwanted if self._ignored.fullmatch(lines[index])]
            unread = [index for index in unwanted if index not in ignored]
            records = [self._typing.record(values, trace, unread) for values, trace in raw]
            outcome = Outcome(records, unread, ignored)
            if len(self._remembered) >= _REMEMBERED:
                self._remembered.clear()
            self._remembered[key] = outcome
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

    def record(self, texts: dict[str, Any], trace: dict[str, tuple[int, ...]], unread: list[int]) -> Record:
        """Return typed values. Those that are no such thing are left out, and their lines added to ``unread``."""
        values = {}
        for name, text in texts.items():
            translate = self._tables.get(name)
            try:
                values[name] = self._convert[name](translate(text) if translate else text)
            except ValueError:
                unread.extend(index for index in trace.get(name, ()) if index not in unread)
        return Record(values, trace)


_Raw = tuple[dict[str, Any], dict[str, tuple[int, ...]]]
_Step = tuple[tuple[tuple[str, str], ...], str]
_Taken = tuple[tuple[_Step, ...], bool, str]


class _Machine:
    """Runs the rules of a parsed template."""

    def __init__(self, name: str, parsed: Any) -> None:
        options = {value.name: value.OptionNames() for value in parsed.values}
        for value, names in options.items():
            if set(names) - {"List"}:
                raise PlatformError(f"template {name}: Value {value}: only the option List is supported")
        self._lists = {value.lower() for value, names in options.items() if names}
        self._states = {
            state: [(re.compile(rule.regex).match, rule.line_op, rule.record_op, rule.new_state) for rule in rules]
            for state, rules in parsed.states.items()
        }
        self._record_at_end = "EOF" not in self._states
        self._taken: dict[tuple[str, str], _Taken] = {}

    def forget(self) -> None:
        self._taken.clear()

    def run(self, lines: list[str]) -> tuple[list[_Raw], list[int]]:
        """Return rows as (values, trace), and the indexes of lines that ended in Error or matched nothing."""
        rows: list[_Raw] = []
        unread = []
        values: dict[str, Any] = {}
        trace: dict[str, tuple[int, ...]] = {}
        state = "Start"
        for index, line in enumerate(lines):
            taken = self._taken.get((state, line))
            if taken is None:
                taken = self._take(state, line)
            steps, wanted, state = taken
            if not wanted:
                unread.append(index)
            for found, record in steps:
                for name, text in found:
                    if name in self._lists:
                        values.setdefault(name, []).append(text)
                        trace[name] = (*trace.get(name, ()), index)
                    else:
                        values[name] = text
                        trace[name] = (index,)
                if record:
                    if values and record == "Record":
                        rows.append((values, trace))
                    values, trace = {}, {}
        if values and self._record_at_end:
            rows.append((values, trace))
        return rows, unread

    def _take(self, state: str, line: str) -> _Taken:
        """Pass a line through the rules of a state: what they assign and do, whether one wanted it, the next state."""
        steps: list[_Step] = []
        wanted = False
        following = state
        for match, line_op, record_op, new_state in self._states[state]:
            found = match(line)
            if found is None:
                continue
            if line_op == "Error":
                break
            wanted = True
            groups = tuple((name.lower(), text) for name, text in found.groupdict().items() if text is not None)
            steps.append((groups, record_op))
            if line_op != "Continue":
                following = new_state or state
                break
        taken = (tuple(steps), wanted, following)
        if len(self._taken) >= _REMEMBERED:
            self._taken.clear()
        self._taken[state, line] = taken
        return taken
