"""What the commands that read devices share: their options, who is asked for a password, progress on stderr."""

from __future__ import annotations

import getpass
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from auditor.capture.live import Result
    from auditor.capturing import Access, Tour
    from auditor.plan.loader import Plan

_OPTIONS = [
    click.option("--only", metavar="DEVICE", multiple=True, help="Read this device alone; may be repeated."),
    click.option("--workers", type=click.IntRange(1, 500), default=16, show_default=True, help="Devices at once."),
    click.option("--device-timeout", metavar="SECONDS", type=click.FloatRange(1), default=90.0, show_default=True),
    click.option("--round-timeout", metavar="SECONDS", type=click.FloatRange(1), default=3600.0, show_default=True),
    click.option("--ssh-config", metavar="FILE", type=click.Path(path_type=Path), help="Instead of ~/.ssh/config."),
    click.option("--known-hosts", metavar="FILE", type=click.Path(path_type=Path), help="Not ~/.ssh/known_hosts."),
    click.option("--accept", metavar="FINGERPRINT", multiple=True, help="A new host key, compared with the device."),
    click.option(
        "--keep-going/--no-keep-going", default=True, show_default=True, help="Read the others where one fails."
    ),
]


def live_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of a live capture."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def read_live(
    plans: Sequence[Plan],
    folders: Sequence[Path | None],
    *,
    quiet: bool,
    group: bool,
    only: tuple[str, ...],
    workers: int,
    device_timeout: float,
    round_timeout: float,
    ssh_config: Path | None,
    known_hosts: Path | None,
    accept: tuple[str, ...],
    keep_going: bool,
) -> Tour:
    """Read the devices of plans, as the options say, and keep their captures where a folder is given.

    These are for their owner alone, unless ``group`` leaves that to the umask.

    Raises:
        UsageError: a device that is asked for is in none of the plans, or a capture cannot be written.
    """
    from auditor.capture.live import Limits  # noqa: PLC0415 - heavy
    from auditor.capturing import capture, saving_below  # noqa: PLC0415

    limits = Limits(workers=workers, device_seconds=device_timeout, round_seconds=round_timeout)
    kept = {plan.file: folder for plan, folder in zip(plans, folders, strict=True) if folder}
    with _progress(sum(len(plan.data.devices) for plan in plans), quiet=quiet) as tell:
        return capture(
            plans,
            _access(ssh_config, known_hosts, accept),
            limits,
            only=only,
            keep_going=keep_going,
            done=saving_below(kept, tell, group=group),
        )


def _access(ssh_config: Path | None, known_hosts: Path | None, accept: tuple[str, ...]) -> Access:
    from auditor.capture.credentials import system_keyring  # noqa: PLC0415 - heavy
    from auditor.capturing import Access  # noqa: PLC0415

    home = Path.home() / ".ssh"
    return Access(
        config=ssh_config or home / "config",
        known_hosts=known_hosts or home / "known_hosts",
        accepted=frozenset(accept),
        environment=os.environ,
        ask=getpass.getpass if sys.stdin.isatty() and sys.stderr.isatty() else None,
        keyring=system_keyring(),
    )


@contextmanager
def _progress(total: int, *, quiet: bool) -> Iterator[Callable[[Result], None]]:
    """Give what is told of each device as it ends: a bar on a terminal, else a line each; nothing where quiet."""
    from auditor.reports.progress import Lines, bar  # noqa: PLC0415 - heavy

    if quiet:
        yield lambda _: None
    elif sys.stderr.isatty():
        with bar(total) as advance:
            yield advance
    else:
        yield Lines(sys.stderr)
