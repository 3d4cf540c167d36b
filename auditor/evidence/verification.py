"""What was found out about evidence: one headline that says no more than was compared, and what stands behind it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

LIMITS = (
    "This shows that plan, captures and reports belong together and that none was changed alone. It does not show who "
    "made the archive, which bears no signature, nor that the captures are what the devices held."
)
SUMS_ALONE = (
    "This shows that no file was changed without its sum. Anyone who changes a file can write its sum again: what the "
    "reports say was not checked against plan and captures."
)
_MOST = 6
"""Most details that are shown of a kind."""
_FEW = 3
"""Most files that the headline names."""


@dataclass(slots=True)
class Verification:
    """What was found out about evidence.

    Attributes:
        files: how many files the archive holds.
        about: what it is evidence of; empty where nobody can tell any more.
        verdict: what the audit says of the site; that its evidence is whole does not make it conforming.
        altered: which files are not those that were put in; nothing else was looked into then.
        made_by: the other version that made it; the audit was not repeated then.
        differs: the files that are not what auditing again gives, and where, as far as it can be told.
        uncompared: the reports whose bytes could not be compared, and why.
        unwritten: the formats in which the report was not written, by the word of report.json.
        passphrases: for each verdict on a passphrase that was taken from the archive, the variable that is not set.
        since: the day of the earlier audit, where changes since then were taken from the archive.
        hints: what a difference can come from besides a change.
    """

    files: int
    about: str = ""
    verdict: str = ""
    altered: list[str] = field(default_factory=list)
    made_by: str = ""
    differs: dict[str, list[str]] = field(default_factory=dict)
    uncompared: dict[str, str] = field(default_factory=dict)
    unwritten: list[str] = field(default_factory=list)
    passphrases: list[str] = field(default_factory=list)
    since: str = ""
    hints: list[str] = field(default_factory=list)

    def differ(self, file: str, *where: str) -> None:
        """Note that a file is not what auditing again gives, and where, if more can be said."""
        self.differs.setdefault(file, []).extend(where)

    @property
    def exit_code(self) -> int:
        """The exit code of a run with this result: 3 where something was not compared that could be elsewhere."""
        if self.altered or self.differs:
            return 1
        return 3 if self.made_by or self.uncompared or self.passphrases else 0

    @property
    def headline(self) -> str:
        """The result in a line."""
        if self.altered:
            return f"ALTERED: {_first_of(self.altered)}; the audit was not repeated"
        if self.differs:
            count, names = len(self.differs), _names(list(self.differs))
            are = "is" if count == 1 else "are"
            return f"DIFFERS: {count} of {self.files} files {are} not what the audit gives again: {names}"
        if self.made_by:
            return f"NOT REPEATED: all {self.files} files match; made by {self.made_by}"
        compared = self.files - len(self.uncompared)
        whole = f"VERIFIED: all {compared} files match, and the audit gives the same report again"
        return "; ".join([whole, *self._not_checked()])

    def _not_checked(self) -> list[str]:
        said = []
        if self.uncompared:
            names = ", ".join(name.rpartition("/")[2] for name in self.uncompared)
            said.append(f"{_count(len(self.uncompared), 'file')} not compared ({names})")
        if self.unwritten:
            were = "was" if len(self.unwritten) == 1 else "were"
            names = _names([name.rpartition("/")[2] for name in self.unwritten])
            said.append(f"{names} {were} not written, as report.json says")
        if self.passphrases:
            said.append(f"{_count(len(self.passphrases), 'passphrase verdict')} taken from the archive, not checked")
        if self.since:
            said.append(f"changes since {self.since} taken from the archive, not checked")
        return said

    def lines(self) -> list[str]:
        """Return all of it as people read it."""
        found = [self.headline]
        if self.about:
            found.append(self.about)
        if self.altered:
            return [*found, *(_listed("altered", self.altered) if len(self.altered) > 1 else [])]
        if self.differs:
            found += [line for file, where in self.differs.items() for line in _listed(f"differs: {file}", where)]
            whole = [file for file, where in self.differs.items() if not where]
            found += [f"  differs: {', '.join(whole)}"] if len(self.differs) > 1 and whole else []
            return [*found, *(f"  {hint}" for hint in self.hints)]
        if self.made_by:
            return [*found, SUMS_ALONE]
        found[-1] += f"; its verdict: {self.verdict}"
        found += [f"  not compared: {name}: {why}" for name, why in self.uncompared.items()]
        variables = Counter(self.passphrases)
        found += [
            f"  not checked: {_count(number, 'verdict')} on the passphrase in {name}: set {name} and verify again"
            for name, number in variables.items()
        ]
        if self.since:
            found.append("  not checked: what changed since the audit before: the history is not in the archive")
        return [*found, LIMITS]


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _first_of(texts: list[str]) -> str:
    return texts[0] if len(texts) == 1 else f"{texts[0]}, and {len(texts) - 1} more"


def _names(files: list[str]) -> str:
    """Return the first few of some files, by name."""
    if len(files) <= _FEW:
        return ", ".join(files)
    return f"{', '.join(files[:_FEW])} and {len(files) - _FEW} more"


def _listed(head: str, texts: list[str]) -> list[str]:
    more = [f"  {head}: and {len(texts) - _MOST} more"] if len(texts) > _MOST else []
    return [*(f"  {head}: {text}" for text in texts[:_MOST]), *more]
