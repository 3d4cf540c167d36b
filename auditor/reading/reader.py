"""A capture cut into sections, and each read by the template that owns it: typed rows, and an account of all lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from auditor.reading.days import ReadOn, read_on
from auditor.reading.dialect import Dialect
from auditor.reading.row_models import ReadRows, RowDefaults
from auditor.reading.sections import Section
from auditor.reading.source import CaptureFile, Disposition, Lines, Ref, lines_of, overlong_words
from auditor.reading.wording import Wording
from auditor.redact import redact


class SectionPlace(NamedTuple):
    """Where a section stands: which of the files, its first line's number and text, the numbers of its lines."""

    source: int
    number: int
    header: str
    numbers: Sequence[int]


class Readout:
    """The rows of one device's capture, and what became of its lines.

    Attributes:
        dialect: the platform that it is read as.
        lines: its files.
        rows: what its sections say.
        places: where each section stands.
        wording: what was read of each line.

    Raises:
        PlatformError: the platform's data are broken.
    """

    def __init__(self, dialect: Dialect, sources: Sequence[CaptureFile]) -> None:
        self.dialect = dialect
        self.lines = [lines_of(source) for source in sources]
        self.rows = ReadRows()
        self.places: list[SectionPlace] = []
        self.wording = Wording()
        self._owned = 0
        for index, text in enumerate(self.lines):
            for section in dialect.answers.cut(text):
                self._section(section, text, index)
        self._whole = "\n".join(line for text in self.lines for line in text.texts)
        self.wording.keep(self.rows, self.lines)

    @property
    def headers(self) -> list[str]:
        """The first lines of all sections."""
        return [place.header for place in self.places]

    def defaults(self) -> RowDefaults:
        """Return what lines that are not there mean in this capture."""
        return self.dialect.defaults_in(self._whole)

    def days(self) -> list[ReadOn | None]:
        """Return for each file the day on which the device says that it was read."""
        return [read_on(text, self.dialect.read_on) for text in self.lines]

    def _section(self, section: Section, lines: Lines, source: int) -> None:
        """Hand a section to the template that owns it and account for its lines."""
        self.places.append(SectionPlace(source, section.number, section.header, section.numbers))
        owner = section.owner
        if owner is None:
            return
        self._owned += 1
        inner, body = section.unfolded()
        numbers = section.numbers
        for each in inner:
            self._section(each, lines, source)
        if owner.rule.whole:
            body, numbers = f"{section.header}\n{body}", (section.number, *numbers)
        outcome = owner.template.read(body)
        lines.account(numbers, outcome.kinds)
        head, understood = owner.head(section.head, section.around)
        if not understood or not self._nameable(owner.template.feature, head):
            head.pop("name", None)
            lines.mark(section.number, Disposition.NOT_UNDERSTOOD)
        ref = Ref(source, section.number)
        rows, model = self.rows.of(owner.template.feature), owner.template.model
        if head and not outcome.records:
            rows.append(model(self.wording.shown(head), ref, numbers=numbers))
        for record in outcome.records:
            rows.append(model(self.wording.shown({**head, **record.values}), ref, record.trace, numbers))

    def _nameable(self, feature: str, head: dict[str, Any]) -> bool:
        """Return whether the name in a first line can be that of an interface, or a range of them."""
        if feature != "interface" or "name" not in head or head.get("kind") == "network":
            return True
        try:
            self.dialect.names.names(head["name"])
        except ValueError:
            return False
        return True

    def problem(self) -> str:
        """Return why the capture is no whole configuration, secrets taken out; empty where it is one."""
        problem = self._problem(self.lines, self._whole)
        return redact(self.dialect.platform.name, [problem])[0] if problem else ""

    def _problem(self, lines: list[Lines], whole: str) -> str:
        for text in lines:
            if text.overlong:
                return overlong_words(text.name, text.overlong)
        if not whole.strip():
            return "the capture is empty"
        if not self._owned:
            for line in whole.split("\n"):
                if self.dialect.refusals.match(line):
                    return f"the device answered with an error instead of its configuration: {line.strip()!r}"
            return f"nothing in it is a configuration of {self.dialect.platform.name}"
        for text in lines:
            if text.problem:
                return f"{text.name}: {text.problem}"
            if not any(text.texts):
                return f"{text.name}: the file is empty"
            broken = [line.strip() for line in text.texts if self.dialect.interrupted.match(line)]
            if broken:
                return f"{text.name}: the device says that it stopped in the middle: {broken[-1]!r}"
        named = {row.head.source for row in self.rows.system if row.hostname}
        if len(named) > 1:
            files = sorted({self.lines[source].name for source in named})
            return f"{' and '.join(files)} are both a configuration with a name: keep the one of today"
        if self.dialect.ends_with and not any(self._ends(text) for text in lines):
            return "the line that ends a configuration is missing: the capture is cut short"
        return ""

    def _ends(self, text: Lines) -> bool:
        """Return whether the line that ends a configuration is there, outside of banners; it is near the end."""
        ends_with = self.dialect.ends_with
        assert ends_with is not None
        for i in range(len(text.texts) - 1, -1, -1):
            if text.kinds[i] != Disposition.LITERAL:
                if ends_with.fullmatch(text.texts[i]):
                    return True
                if self.dialect.ends_below.match(text.texts[i]):
                    return False
        return False
