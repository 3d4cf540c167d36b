"""A ledger of silence: every change that an audit passes over stands in it, with a reason.

``python -m tests.silence.ledger PLATFORM [--site SITE] [--share N] [--write]`` tries the changes of a platform's
conforming captures and compares what is silent with ``fixtures/silence/<platform>.yaml``, in which ``*`` is anything.
"""

from __future__ import annotations

import re
import sys
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import click
import yaml

from auditor.platforms import catalogue
from tests import effort
from tests.compare.site import MIXED, PLATFORM_SITES, SITES, conforming
from tests.conftest import FIXTURES, from_yaml
from tests.silence.trials import Trials, trials_of

FOLDER = FIXTURES / "silence"
REASONS = {
    "comment": "people write it for people",
    "banner": "text that is no configuration",
    "blank": "nothing stands there",
    "closing": "it ends a block that what follows ends as well",
    "default printed": "the device does the same without the line",
    "outside": "of no audited area",
    "harmless": "known, and changes nothing that is audited or said",
    "limit": "listed in the report, with its line",
    "overriding": "listed where it bears on something planned, with its line",
    "not planned": "the plan says nothing of it, so it is not judged",
    "equal spelling": "the same value, written otherwise",
    "said twice": "another line says the same, or prevails",
    "misplaced": "it means nothing where it stands",
    "name": "a name that is used nowhere else",
    "secret": "a secret that is not compared",
    "never shown": "it is unverified before and after, since the device does not show it",
    "fact": "what a device says of itself, which the plan leaves open",
}
"""Why a change may be passed over; there are no others."""
PREFERRED = {
    "cisco_ios": ("quarry-road", "harbour-bakery"),
    "mikrotik_routeros": ("fernhill-guesthouse", "quarry-road"),
    "openwrt": ("fernhill-guesthouse", "tannery-studios"),
}
"""Of platforms on many sites, two whose devices are of different age or kind."""
MOST_SITES = 2
AUTOMATIC, UNCLASSIFIED = "automatic", "unclassified"
_HEAD = """\
# Changes of conforming captures that an audit passes over, by reason; "automatic" counts those that the reader's own
# account of lines explains. python -m tests.silence.ledger {} --write adds new ones under "unclassified".
"""


@dataclass
class Ledger:
    """What may be silent.

    Attributes:
        entries: by reason, names of changes, in which ``*`` stands for anything.
        automatic: by reason, how many changes the reader's own account explains.
        unclassified: names that nobody has looked at.
    """

    entries: dict[str, list[str]] = field(default_factory=dict)
    automatic: dict[str, int] = field(default_factory=dict)
    unclassified: list[str] = field(default_factory=list)

    def classified(self, name: str) -> list[str]:
        """Return the entries that a name matches."""
        return [entry for entries in self.entries.values() for entry in entries if _pattern(entry).fullmatch(name)]

    def text(self, platform: str) -> str:
        """Return the file."""
        data: dict[str, object] = {AUTOMATIC: self.automatic} if self.automatic else {}
        data |= {reason: sorted(self.entries[reason]) for reason in REASONS if self.entries.get(reason)}
        data |= {UNCLASSIFIED: sorted(self.unclassified)} if self.unclassified else {}
        return _HEAD.format(platform) + yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=1000)


@dataclass
class Silence:
    """What was found.

    Attributes:
        tried: how many changes were made.
        automatic: by reason, how many silent ones the reader's own account explains.
        names: the others by name: where one of each stands, and how many there are.
    """

    tried: int = 0
    automatic: Counter[str] = field(default_factory=Counter)
    names: dict[str, str] = field(default_factory=dict)
    counts: Counter[str] = field(default_factory=Counter)

    def new(self, ledger: Ledger) -> list[str]:
        """Return the names that no reason is given for."""
        return sorted(name for name in self.names if not ledger.classified(name))

    def stale(self, ledger: Ledger) -> list[str]:
        """Return the entries that nothing is silent for; of a whole run alone."""
        met = {entry for name in self.names for entry in ledger.classified(name)}
        return sorted(entry for entries in ledger.entries.values() for entry in entries if entry not in met)


@cache
def _pattern(entry: str) -> re.Pattern[str]:
    return re.compile(".*".join(map(re.escape, entry.split("*"))))


def path_of(platform: str) -> Path:
    """Return where a platform's ledger is."""
    return FOLDER / f"{platform}.yaml"


def load(path: Path) -> Ledger:
    """Read a ledger; an empty one where there is none.

    Raises:
        ValueError: a reason is not of the list, or an entry stands in it twice.
    """
    data = dict(from_yaml(path.read_bytes()) or {}) if path.is_file() else {}
    ledger = Ledger(automatic=data.pop(AUTOMATIC, {}), unclassified=data.pop(UNCLASSIFIED, []), entries=data)
    if unknown := sorted({*data, *ledger.automatic} - REASONS.keys() - {"noise"}):
        raise ValueError(f"{path.name}: {', '.join(unknown)}: the reasons are {', '.join(REASONS)}")
    counted = Counter(entry for entries in data.values() for entry in entries)
    if twice := sorted(entry for entry, count in counted.items() if count > 1):
        raise ValueError(f"{path.name}: more than once: {'; '.join(twice)}")
    return ledger


def sites_of(platform: str) -> list[str]:
    """Return the sites whose captures are changed: the platform's own, and as many networks as make two."""
    if platform in PREFERRED:
        return list(PREFERRED[platform])
    having = [
        name
        for name in (*SITES, MIXED)
        if any(device.platform == platform for device in conforming(name).plan.data.devices.values())
    ]
    own = [platform] if platform in PLATFORM_SITES else []
    return [*own, *having][:MOST_SITES]


def devices_of(platform: str, sites: Iterable[str]) -> list[Trials]:
    """Return the devices of a platform on some sites."""
    return [trials for name in sites for trials in trials_of(name, conforming(name), platform)]


def search(devices: Iterable[Trials], *, quick: int = 1, ci: int = 1, one_of: int = 0) -> Silence:
    """Try the changes of some devices, or a share of them.

    Args:
        devices: the devices.
        quick: how many changes there are for each that is tried in the quick loop.
        ci: the same in .ci/run.
        one_of: the same, whatever the effort.
    """
    found = Silence()
    for trials in devices:
        changes = list(trials.changes())
        if one_of:
            changes = effort.drawn(changes, trials.key, one_of)
        else:
            changes = effort.share(changes, trials.key, quick=quick, ci=ci)
        for change in changes:
            found.tried += 1
            after = trials.silent(change)
            if after is None:
                continue
            if reason := trials.reason(change, after):
                found.automatic[reason] += 1
                continue
            name = trials.called(change)
            found.counts[name] += 1
            found.names.setdefault(name, f"{trials.name}/{change.file}:{max(change.of, 0) + 1}")
    return found


def written(ledger: Ledger, found: Silence, *, whole: bool) -> Ledger:
    """Return the ledger with what is new; of a whole run without what is stale, and with its counts."""
    stale = set(found.stale(ledger)) if whole else set()
    entries = {reason: [each for each in names if each not in stale] for reason, names in ledger.entries.items()}
    new = found.new(ledger)
    return Ledger(
        {reason: names for reason, names in entries.items() if names},
        dict(sorted(found.automatic.items())) if whole else ledger.automatic,
        new if whole else sorted({*ledger.unclassified, *new}),
    )


@click.command(help=(__doc__ or "").partition("\n")[0])
@click.argument("platform", type=click.Choice(catalogue.names()))
@click.option("--site", "sites", multiple=True, help="only this site of those in fixtures; again for more")
@click.option("--share", type=click.IntRange(min=1), default=1, help="one change of so many")
@click.option("--write", is_flag=True, help="add what is new to the file, and, of a whole run, take out what is stale")
def main(platform: str, sites: Sequence[str], share: int, write: bool) -> None:
    """Try a platform's changes and say what is silent without a reason."""
    started, ledger = time.process_time(), load(path_of(platform))
    every = sites_of(platform)
    if unknown := sorted(set(sites) - set(every)):
        raise click.UsageError(f"no site of {platform}: {', '.join(unknown)}; it has {', '.join(every)}")
    found = search(devices_of(platform, sites or every), one_of=share)
    whole = share == 1 and not (set(every) - set(sites) if sites else set())
    new, stale = found.new(ledger), found.stale(ledger) if whole else []
    for name in new:
        click.echo(f"{found.counts[name]:5} {name}   ({found.names[name]})")
    for name in stale:
        click.echo(f"stale {name}")
    taken = time.process_time() - started
    click.echo(
        f"{platform}: {found.tried} changes, {found.automatic.total()} silent by the reader's account "
        f"({', '.join(f'{reason} {count}' for reason, count in sorted(found.automatic.items()))}), "
        f"{found.counts.total()} by {len(found.names)} names, of which {len(new)} new; {len(stale)} stale; "
        f"{taken:.1f} s"
    )
    if write:
        FOLDER.mkdir(exist_ok=True)
        path_of(platform).write_text(written(ledger, found, whole=whole).text(platform), encoding="utf-8")
    sys.exit(1 if new or stale else 0)


if __name__ == "__main__":
    main()
