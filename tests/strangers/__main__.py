"""Audit each change of the sites in some folders, and say what is not as its kind says."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

import click

from tests.compare.site import unseen
from tests.strangers.sites import in_order, stranger, wrong


def main(folders: list[str]) -> None:
    """Print what went wrong, site by site, and how many cases of each kind there are."""
    for folder in map(Path, folders):
        report = in_order(folder)
        click.echo(f"{folder.name}: exit code {report.exit_code} as it was written")
        for item in report.findings:
            click.echo(f"  nonconforming: {item.device} {item.id} expected {item.expected} observed {item.observed}")
        for open_one in unseen(report):
            click.echo(f"  unverified: {open_one.device} {open_one.setting}: {open_one.why}")
        for device in report.devices:
            for line in device.not_understood:
                click.echo(f"  not understood: {device.name} {line.file}:{line.line} {line.text}")
        for path in report.services.paths:
            if path.state != "reached":
                click.echo(
                    f"  {path.state}: {path.kind} {path.device} {path.subnet}: {'; '.join(f.why for f in path.faults)}"
                )
        kinds: Counter[str] = Counter()
        failed: Counter[str] = Counter()
        for case in stranger(folder).cases:
            kinds[case["kind"]] += 1
            try:
                said = wrong(folder, case)
            except (AssertionError, ValueError, KeyError) as error:
                said = f"the case cannot be made: {error!r}"
            if said:
                failed[case["kind"]] += 1
                click.echo(f"  {case['kind']} {case['name']!r}: {said}")
        click.echo(f"  {', '.join(f'{count} {kind}, {failed[kind]} not so' for kind, count in sorted(kinds.items()))}")


main(sys.argv[1:])
