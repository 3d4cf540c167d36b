"""What the configuration says of one host: the values of all entries that are about it, the first of each kind."""

from __future__ import annotations

import glob
from dataclasses import dataclass, field
from enum import IntEnum
from pathlib import Path

from auditor.capture.sshconfig.keywords import HINTS, KNOWN_TO_SSH, ONLY_AS, PASSED_OVER
from auditor.capture.sshconfig.patterns import among
from auditor.capture.sshconfig.syntax import SshLine, read
from auditor.capture.sshconfig.values import criteria, expanded, is_none, one, port, some
from auditor.errors import UsageError

_DEEPEST = 16
"""Files that may be included within each other, as in ssh."""


@dataclass(frozen=True, slots=True)
class Names:
    """Under which names the configuration may speak of a host.

    Attributes:
        sure: an entry for one of these is about it in all respects. The first is where it is if nothing else is said.
        loose: an entry for one of these may say how to get there, and not where it is.
        shown: what it is called in messages.
    """

    sure: tuple[str, ...]
    loose: tuple[str, ...] = ()
    shown: str = ""


@dataclass(slots=True)
class HostSettings:
    """What the configuration says of a host.

    Attributes:
        host: where it is.
        jumps: the jump hosts on the way as they are written, and the line that says so.
        agent: whether keys of an SSH agent may be offered.
        remarks: what is not done that somebody might expect.
    """

    host: str
    port: int = 22
    user: str = ""
    key_files: list[str] = field(default_factory=list)
    jumps: list[str] = field(default_factory=list)
    jumps_from: SshLine | None = None
    agent: bool = True
    remarks: list[str] = field(default_factory=list)


class Configuration:
    """A configuration file, and the files that it includes.

    Args:
        file: it need not be there.
        home: where the user's own files are; ``.ssh`` in it is where included ones are looked for.
    """

    def __init__(self, file: Path | None, home: Path | None = None) -> None:
        self.home = home or Path.home()
        self._file = file if file and file.exists() else None
        self._read: dict[Path, tuple[SshLine, ...]] = {}

    def of(self, names: Names, *, way_is_given: bool = False) -> HostSettings:
        """Return what is said of a host.

        Args:
            names: what it may be called there.
            way_is_given: what is said of jump hosts does not matter.

        Raises:
            UsageError: a line that may be about it is not carried out, or is wrong; a file cannot be read.
        """
        lookup = _Lookup(self, names, way_is_given=way_is_given)
        if self._file:
            lookup.walk(self.lines(self._file), _About.SURELY)
        return lookup.said()

    def lines(self, file: Path) -> tuple[SshLine, ...]:
        """Return the lines of a file.

        Raises:
            UsageError: it cannot be read.
        """
        if file not in self._read:
            self._read[file] = read(file)
        return self._read[file]

    def included(self, line: SshLine) -> list[Path]:
        """Return the files that a line includes, in the order in which they are read.

        Raises:
            UsageError: it names none.
        """
        found: list[Path] = []
        for word in some(line):
            if "%" in word or "${" in word:
                raise line.wrong("has a token or a variable in it, which is not carried out: write it out")
            path = Path(word).expanduser()
            pattern = str(path if path.is_absolute() else self.home / ".ssh" / path)
            names = sorted(glob.glob(pattern))  # noqa: PTH207 - the pattern may begin at the root
            found += [path for path in map(Path, names) if not path.is_dir()]
        return found


class _About(IntEnum):
    """Whether lines are about a host, and how much they may say of it."""

    NOT = 0
    LOOSELY = 1
    SURELY = 2


class _Lookup:
    """One walk over the lines, from the first to the last; the first value of each kind holds."""

    def __init__(self, configuration: Configuration, names: Names, *, way_is_given: bool) -> None:
        self._configuration = configuration
        self._names = names
        self._called = names.sure[0]
        self._host = ""
        self._port = 0
        self._user = ""
        self._keys: list[SshLine] = []
        self._agent: bool | None = None
        self._jumps: SshLine | None = None
        self._no_command = self._way_is_given = way_is_given
        self._unknown: tuple[str, ...] = ()
        self._remarks: list[str] = []

    def walk(self, lines: tuple[SshLine, ...], about: _About, depth: int = 0) -> None:
        """Take in what lines say."""
        for line in lines:
            if line.name == "host":
                about = self._entry(line)
            elif line.name == "match":
                about = self._match(line)
            elif about and line.name == "include":
                if depth == _DEEPEST:
                    raise line.wrong("is one too many: files that include each other end nowhere")
                for file in self._configuration.included(line):
                    self.walk(self._configuration.lines(file), about, depth + 1)
            elif about:
                self._take(line, about)

    def _entry(self, line: SshLine) -> _About:
        """Return whether the entry that a ``Host`` line begins is about the host."""
        patterns = some(line)
        sure = [among(name, patterns) for name in self._names.sure]
        loose = [among(name, patterns) for name in self._names.loose]
        if None in sure or None in loose:
            return _About.NOT
        if any(sure):
            self._called = self._names.sure[sure.index(True)]
            return _About.SURELY
        return _About.LOOSELY if any(loose) else _About.NOT

    def _match(self, line: SshLine) -> _About:
        """Return that the entry that a ``Match`` line begins is not about the host.

        Raises:
            UsageError: it might be.
        """
        called = [*self._names.sure, *self._names.loose]
        compared = {"originalhost": called, "host": [*called, self._host or called[0]]}
        for criterion, value in criteria(line.words):
            names = compared.get(criterion.removeprefix("!"), [])
            if names and value:
                fitting = [bool(among(name, value.split(","))) for name in names]
                if all(fitting) if criterion.startswith("!") else not any(fitting):
                    return _About.NOT
        raise self._refusal(line)

    def _take(self, line: SshLine, about: _About) -> None:
        """Take in a line that is about the host.

        Raises:
            UsageError: it is not carried out.
        """
        match line.name:
            case "hostname":
                self._take_host(line, about)
            case "port":
                self._port = self._port or port(line, one(line))
            case "user":
                self._user = self._user or expanded(line, one(line), {})
            case "identityfile":
                self._keys += [line] if one(line) and not is_none(line) else []
            case "identityagent" if one(line).lower() in ("none", "ssh_auth_sock"):
                self._agent = line.words[0].lower() != "none" if self._agent is None else self._agent
            case "proxyjump":
                one(line)
                if not self._no_command:
                    self._jumps = self._jumps or line
            case "proxycommand" if self._no_command or self._jumps_there or is_none(line):
                self._no_command = True
            case "ignoreunknown":
                self._unknown = self._unknown or tuple(one(line).lower().split(","))
            case name if name in PASSED_OVER:
                pass
            case name if name in ONLY_AS and line.words and all(word.lower() in ONLY_AS[name] for word in line.words):
                pass
            case name if name not in KNOWN_TO_SSH and among(name, self._unknown):
                pass
            case _:
                raise self._refusal(line)

    @property
    def _jumps_there(self) -> bool:
        return self._jumps is not None and not is_none(self._jumps)

    def _take_host(self, line: SshLine, about: _About) -> None:
        host = expanded(line, one(line), {"h": self._called})
        if host.startswith("-") or " " in host:
            raise line.wrong("is no name of a host")
        if about is _About.SURELY:
            self._host = self._host or host
        elif not self._host and host != self._names.sure[0]:
            self._remarks.append(
                f"the SSH configuration's HostName at {line.place} was not used, since its entry is for the device's "
                f"name alone: it was looked for at {self._names.sure[0]}, as planned"
            )

    def _refusal(self, line: SshLine) -> UsageError:
        known = line.name in KNOWN_TO_SSH or line.name == "match"
        why = "is not carried out" if known else "is no keyword that is known here"
        hint = HINTS.get(line.name, "leave it out for this device")
        return line.wrong(
            f"{why}, and may be about {self._names.shown or self._names.sure[0]}. Nothing was connected to: {hint}, "
            "or give another file with --ssh-config"
        )

    def said(self) -> HostSettings:
        """Return what was taken in.

        Raises:
            UsageError: a key file has a token that is not carried out.
        """
        host = self._host or self._names.sure[0]
        tokens = {"h": host, "p": str(self._port or 22), "d": str(self._configuration.home)}
        if self._user:
            tokens["r"] = self._user
        keys = [expanded(line, line.words[0], tokens) for line in self._keys]
        jumps = expanded(self._jumps, self._jumps.words[0], {}) if self._jumps and self._jumps_there else ""
        if self._host:
            self._remarks.clear()
        return HostSettings(
            host=host,
            port=self._port or 22,
            user=self._user,
            key_files=list(dict.fromkeys(keys)),
            jumps=[hop.strip() for hop in jumps.split(",")] if jumps else [],
            jumps_from=self._jumps,
            agent=self._agent is not False,
            remarks=self._remarks,
        )
