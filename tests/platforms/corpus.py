"""How much of real configurations is understood: ``tests/platforms/corpus.py FOLDER [-v] [--lines PLATFORM [N]]``.

The folder has one folder a platform; in it a file is a device's capture, and a folder is that of one device in
several files, as are files without an ending that lie side by side. So have the folders below it that hold more of
the same (``extra``, ``filters``, ``ipv6``). Platforms that there are no templates for are passed over with a word;
answers of other commands (``operational``) are left out.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import click

from auditor import load_plan
from auditor.areas import Reading, read
from auditor.capture.files import SavedCaptures
from auditor.capture.interface import Captured
from auditor.core.report import QuotedLine
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile, Disposition

FOLDERS = {
    "vyos_edgeos": {"vyos": r"\d+-vyos-.*", "ubiquiti_edgerouter": r"\d+-edge-.*|\d+-natm-edge-.*"},
    "juniper_srx": {"juniper_junos": r".*"},
}
"""Folders that hold the devices of other or several platforms: what the names of each one's files look like."""
MORE = ("extra", "filters", "ipv6")
"""Folders that have, too, one folder a platform."""
LEFT_OUT = frozenset(["operational"])
_MASKED = re.compile(r"\b(xx[:.]){2}|\d\.x{1,3}\b|\bx\.x\.|\bx{5,}\b")
"""What somebody wrote over a value before a configuration was shown to others."""


@dataclass(frozen=True)
class Device:
    """A device of the corpus: its platform, its name, and the files of its capture."""

    platform: str
    name: str
    paths: tuple[Path, ...]

    def sources(self) -> list[CaptureFile]:
        """Return its files as they are handed to the reader."""
        return [CaptureFile(path.name, path.read_bytes()) for path in self.paths]

    def read(self) -> Reading:
        """Read its capture."""
        return read(self.platform, self.sources())

    def is_document(self) -> bool:
        """Return whether it was taken from a page with sentences around configurations."""
        return any(path.stem.endswith("-md") for path in self.paths)

    def is_program(self) -> bool:
        """Return whether outside quoted values there are variables, commands in brackets or words of a script."""
        text = b"\n".join(source.data for source in self.sources())
        return re.search(rb"(?m)^\s*:|\[/|\$\w", re.sub(rb'"(?:[^"\\]|\\.)*"', b"", text, flags=re.DOTALL)) is not None


@dataclass
class Tally:
    """What became of the lines of one platform.

    Attributes:
        files, lines, audited: how many there are; the last in audited areas, read or not.
        not_understood: lines of audited areas that could not be read.
        masked: those of them whose values somebody has written over.
        prose: those of them in documents that begin like no line that was read there: sentences around it.
        limits, overriding: how many lines are listed as such.
        whole: captures that are whole configurations.
        unclouded: those of them in which no overriding line bears on a setting that is shown.
    """

    files: int = 0
    lines: int = 0
    audited: int = 0
    not_understood: list[QuotedLine] = field(default_factory=list)
    masked: list[QuotedLine] = field(default_factory=list)
    prose: list[QuotedLine] = field(default_factory=list)
    limits: int = 0
    overriding: int = 0
    whole: int = 0
    unclouded: int = 0

    @property
    def percent(self) -> float:
        """The share of lines of audited areas that nobody could read."""
        return 100 * len(self.not_understood) / self.audited if self.audited else 0.0

    def add(self, device: Device, reading: Reading) -> None:
        """Count a device in."""
        self.files += len(device.paths)
        self.lines += reading.line_count
        self.audited += reading.audited_lines
        self.limits += reading.count([Disposition.LIMIT])
        overriding = reading.bearing(Disposition.OVERRIDING)
        self.overriding += reading.count([Disposition.OVERRIDING])
        self.whole += not reading.problem
        self.unclouded += not reading.problem and not any(line.bears_on for line in overriding)
        beginnings = {
            _first_word(text)
            for lines in reading.lines
            for text, kind in zip(lines.texts, lines.kinds, strict=True)
            if kind is Disposition.READ
        }
        for line in reading.quoted_not_understood():
            name = device.name if len(device.paths) == 1 else f"{device.name}/{line.file}"
            counted = self.masked if _MASKED.search(line.text) else self.not_understood
            if device.is_document() and _first_word(line.text) not in beginnings:
                counted = self.prose
            counted.append(line.model_copy(update={"file": name}))

    def by_first_words(self, count: int) -> list[tuple[str, int]]:
        """Return how many lines that were not understood begin with the same words, most first."""
        words = (" ".join(re.split(r"[\s={]+", line.text.strip())[:count]) for line in self.not_understood)
        return sorted(Counter(words).items(), key=lambda pair: (-pair[1], pair[0]))


def _first_word(text: str) -> str:
    return text.split(maxsplit=1)[0] if text.strip() else ""


def platforms_in(folder: Path) -> tuple[list[str], list[str]]:
    """Return the platforms of a corpus: those that can be read, and those that cannot."""
    found = {
        name for home in _homes(folder) for path in _folders(home) for name in FOLDERS.get(path.name, (path.name,))
    }
    known = catalogue.names()
    return sorted(found & set(known)), sorted(found - set(known))


def _homes(folder: Path) -> list[Path]:
    """Return the folders that have one folder a platform: that of the corpus first."""
    return [folder, *(folder / name for name in MORE if (folder / name).is_dir())]


def _folders(home: Path) -> Iterator[Path]:
    """Yield the folders of platforms."""
    for path in sorted(home.iterdir()):
        if path.is_dir() and not path.name.startswith(".") and path.name not in (*MORE, *LEFT_OUT):
            yield path


def devices_in(folder: Path, platform: str) -> Iterator[Device]:
    """Yield the devices of one platform, by name; none where there is no such folder."""
    if not folder.is_dir():
        return
    for home in _homes(folder):
        within = "" if home == folder else f"{home.name}/"
        for path in _folders(home):
            pattern = FOLDERS.get(path.name, {path.name: ".*"}).get(platform)
            for name, files in _devices(path) if pattern else ():
                if re.fullmatch(pattern or "", name):
                    yield Device(platform, within + name, files)


def _devices(folder: Path) -> Iterator[tuple[str, tuple[Path, ...]]]:
    """Yield the devices of one folder, by name: files, folders, and all files without an ending as one."""
    together = []
    for path in sorted(path for path in folder.iterdir() if not path.name.startswith(".")):
        if path.is_dir():
            if files := tuple(sorted(file for file in path.iterdir() if file.is_file())):
                yield path.name, files
        elif path.suffix:
            yield path.name, (path,)
        else:
            together.append(path)
    if together:
        yield folder.name, tuple(together)


def demo_devices(networks: Path, platform: str) -> Iterator[Device]:
    """Yield the devices of one platform from the captures of made-up networks, told by what their plan says."""
    for home, name in _planned(networks).get(platform, ()):
        for captures in sorted(path for path in home.iterdir() if path.is_dir()):
            found = SavedCaptures(captures).capture(name)
            if isinstance(found, Captured):
                yield Device(platform, name, tuple(captures / file.name for file in found.files))


@cache
def _planned(networks: Path) -> dict[str, list[tuple[Path, str]]]:
    """Return by platform the devices that there are plans for: the folder of the plan and the device's name."""
    found: dict[str, list[tuple[Path, str]]] = {}
    for plan in sorted(networks.glob("*/plan.yaml")):
        for name, device in load_plan(plan).data.devices.items():
            found.setdefault(device.platform, []).append((plan.parent, name))
    return found


def tally(folder: Path, platform: str) -> Tally:
    """Read all devices of a platform and count."""
    total = Tally()
    for device in devices_in(folder, platform):
        total.add(device, device.read())
    return total


COLUMNS = {
    "files": 7,
    "lines": 8,
    "audited": 9,
    "not understood": 16,
    "percent": 9,
    "masked": 8,
    "prose": 7,
    "limits": 8,
    "overriding": 12,
    "whole, none bearing": 21,
}
"""The table's columns and their widths; the last: whole captures without an overriding line that bears on a setting."""


def row_of(total: Tally) -> str:
    """Return a platform's row of the table, without its name."""
    values = (
        *(total.files, total.lines, total.audited, len(total.not_understood), f"{total.percent:.2f}"),
        *(len(total.masked), len(total.prose), total.limits, total.overriding, f"{total.unclouded} of {total.whole}"),
    )
    return "".join(str(value).rjust(width) for value, width in zip(values, COLUMNS.values(), strict=True))


def print_lines(folder: Path, platform: str, count: int) -> None:
    """Print the lines that were not understood, by their first words, secrets taken out."""
    total = tally(folder, platform)
    for words, lines in total.by_first_words(count):
        click.echo(f"{lines:6}  {words}")
    click.echo(f"{len(total.not_understood):6}  in all")


def main(arguments: list[str] | None = None) -> int:
    """Print a line a platform; with ``-v`` the lines that were not understood, secrets taken out."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("-v", action="store_true", dest="verbose", help="list the lines that were not understood")
    parser.add_argument(
        "--lines",
        nargs="+",
        metavar=("PLATFORM", "N"),
        help="only count one platform's lines that were not understood by their first N words (2)",
    )
    options = parser.parse_args(arguments)
    if not options.folder.is_dir():
        parser.error(f"{options.folder} is no folder")
    known, unknown = platforms_in(options.folder)
    if options.lines:
        platform, *count = options.lines
        if platform not in known or len(count) > 1 or not all(word.isdigit() and int(word) for word in count):
            parser.error("--lines: a platform of the folder, and how many first words")
        print_lines(options.folder, platform, int(count[0]) if count else 2)
        return 0
    for name in unknown:
        click.echo(f"{name}: no platform of this name, passed over", err=True)
    click.echo(f"{'platform':22}" + "".join(head.rjust(width) for head, width in COLUMNS.items()))
    for name in known:
        total = tally(options.folder, name)
        click.echo(f"{name:22}{row_of(total)}")
        for line in (*total.not_understood, *total.masked, *total.prose) if options.verbose else ():
            click.echo(f"    {line.file}:{line.line}: {line.text}{'  (masked)' if line in total.masked else ''}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
