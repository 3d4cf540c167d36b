"""How much of real configurations is understood: ``python tests/platforms/corpus.py FOLDER [-v]``.

The folder has one folder a platform; in it a file is a device's capture, and a folder is that of one device in
several files. Platforms that there are no templates for are passed over with a word.
"""

from __future__ import annotations

import argparse
import re
import sys
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
from auditor.reading.source import CaptureFile

FOLDERS = {"vyos_edgeos": {"vyos": r"\d+-vyos-.*", "ubiquiti_edgerouter": r"\d+-edge-.*|\d+-natm-edge-.*"}}
"""Folders that hold the devices of several platforms: what the names of each one's files look like."""
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

    def is_program(self) -> bool:
        """Return whether outside quoted values there are variables, commands in brackets or words of a script."""
        text = b"\n".join(source.data for source in self.sources())
        return re.search(rb"(?m)^\s*:|\[/|\$\w", re.sub(rb'"(?:[^"\\]|\\.)*"', b"", text, flags=re.DOTALL)) is not None


@dataclass
class Tally:
    """What became of the lines of one platform; ``masked``: not understood, for their values were written over."""

    files: int = 0
    lines: int = 0
    audited: int = 0
    not_understood: list[QuotedLine] = field(default_factory=list)
    masked: list[QuotedLine] = field(default_factory=list)

    @property
    def percent(self) -> float:
        """The share of lines of audited areas that nobody could read."""
        return 100 * len(self.not_understood) / self.audited if self.audited else 0.0

    def add(self, device: Device, reading: Reading) -> None:
        """Count a device in."""
        self.files += len(device.paths)
        self.lines += reading.line_count
        self.audited += reading.audited_lines
        for line in reading.quoted_not_understood():
            name = device.name if len(device.paths) == 1 else f"{device.name}/{line.file}"
            counted = self.masked if _MASKED.search(line.text) else self.not_understood
            counted.append(line.model_copy(update={"file": name}))


def platforms_in(folder: Path) -> tuple[list[str], list[str]]:
    """Return the platforms of a corpus: those that can be read, and those that cannot."""
    folders = (path.name for path in folder.iterdir() if path.is_dir() and not path.name.startswith("."))
    found = sorted(name for path in folders for name in FOLDERS.get(path, (path,)))
    known = catalogue.names()
    return [name for name in found if name in known], [name for name in found if name not in known]


def devices_in(folder: Path, platform: str) -> Iterator[Device]:
    """Yield the devices of one platform's folder, by name; none where there is no such folder."""
    for path in sorted(_paths(folder, platform)):
        files = sorted(file for file in path.iterdir() if file.is_file()) if path.is_dir() else [path]
        if files and not path.name.startswith("."):
            yield Device(platform, path.name, tuple(files))


def _paths(folder: Path, platform: str) -> Iterator[Path]:
    if (folder / platform).is_dir():
        yield from (folder / platform).iterdir()
    for name, patterns in FOLDERS.items():
        if platform in patterns and (folder / name).is_dir():
            yield from (path for path in (folder / name).iterdir() if re.fullmatch(patterns[platform], path.name))


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


def main(arguments: list[str] | None = None) -> int:
    """Print a line a platform; with ``-v`` the lines that were not understood, secrets taken out."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("-v", action="store_true", dest="verbose", help="list the lines that were not understood")
    options = parser.parse_args(arguments)
    if not options.folder.is_dir():
        parser.error(f"{options.folder} is no folder")
    known, unknown = platforms_in(options.folder)
    for name in unknown:
        click.echo(f"{name}: no platform of this name, passed over", err=True)
    heads = ("files", 7), ("lines", 8), ("audited", 9), ("not understood", 16), ("percent", 9), ("masked", 8)
    click.echo(f"{'platform':22}" + "".join(head.rjust(width) for head, width in heads))
    for name in known:
        total = tally(options.folder, name)
        count = len(total.not_understood)
        click.echo(
            f"{name:22}{total.files:7}{total.lines:8}{total.audited:9}{count:16}{total.percent:9.2f}{len(total.masked):8}"
        )
        for line in (*total.not_understood, *total.masked) if options.verbose else ():
            click.echo(f"    {line.file}:{line.line}: {line.text}{'  (masked)' if line in total.masked else ''}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
