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

from auditor.cli.sites import Site
from auditor.cli.tally import Tally, and_more
from auditor.errors import UsageError

if TYPE_CHECKING:
    from auditor.app.capturing import Access, SiteCaptures
    from auditor.capture.live import Result

_OPTIONS = [
    click.option("--only", metavar="DEVICE", multiple=True, help="Read only this device; may be repeated."),
    click.option(
        "--workers",
        type=click.IntRange(1, 500),
        default=16,
        show_default=True,
        help="How many devices are read at once.",
    ),
    click.option("--device-timeout", metavar="SECONDS", type=click.FloatRange(1), default=90.0, show_default=True),
    click.option("--round-timeout", metavar="SECONDS", type=click.FloatRange(1), default=3600.0, show_default=True),
    click.option("--ssh-config", metavar="FILE", type=click.Path(path_type=Path), help="Instead of ~/.ssh/config."),
    click.option("--known-hosts", metavar="FILE", type=click.Path(path_type=Path), help="Not ~/.ssh/known_hosts."),
    click.option(
        "--accept",
        metavar="FINGERPRINT",
        multiple=True,
        help="Accept this new host key, once compared with the device.",
    ),
    click.option(
        "--keep-going/--no-keep-going", default=True, show_default=True, help="Read the other devices where one fails."
    ),
]


def live_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of a live capture."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def read_live(
    sites: Sequence[Site],
    kept: Callable[[Site], Path | None],
    tally: Tally,
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
) -> SiteCaptures:
    """Read the devices of sites, as the options say, and keep their captures where ``kept`` has a folder for them.

    A capture that cannot be kept is told of, and all the same it can be audited.

    These are for their owner alone, unless ``group`` leaves that to the umask.

    Raises:
        UsageError: something that the options say, or the SSH configuration or a secret, cannot be used.
    """
    from auditor.app.capturing import capture, saving_below  # noqa: PLC0415
    from auditor.capture.live import Limits  # noqa: PLC0415 - heavy

    limits = Limits(workers=workers, device_seconds=device_timeout, round_seconds=round_timeout)
    folders = {site.plan.file: folder for site in sites if (folder := kept(site))}
    unkept: dict[str, list[str]] = {}

    def lost(result: Result, why: str) -> None:
        unkept.setdefault(result.key[0], []).append(why)

    with _progress(sum(len(site.plan.data.devices) for site in sites), quiet=quiet) as tell:
        captured_sites = capture(
            [site.plan for site in sites],
            _access(ssh_config, known_hosts, accept),
            limits,
            only=only,
            keep_going=keep_going,
            done=saving_below(folders, tell, lost, group=group),
        )
    for site in sites:
        if reasons := unkept.get(site.plan.file):
            tally.fail(site.label, and_more(reasons))
    return captured_sites


def _access(ssh_config: Path | None, known_hosts: Path | None, accept: tuple[str, ...]) -> Access:
    from auditor.app.capturing import Access  # noqa: PLC0415
    from auditor.capture.credentials import system_keyring  # noqa: PLC0415 - heavy

    if ssh_config and not ssh_config.exists():
        raise UsageError(f"--ssh-config {ssh_config}: no such file")
    home = Path.home() / ".ssh"
    return Access(
        config=ssh_config or home / "config",
        known_hosts=known_hosts or home / "known_hosts",
        accepted=frozenset(accept),
        environment=os.environ,
        ask=_asked if sys.stdin and sys.stdin.isatty() and sys.stderr.isatty() else None,
        keyring=system_keyring(),
    )


def _asked(question: str) -> str:
    """Ask a person for a secret; ending the input instead of answering means to stop.

    Raises:
        KeyboardInterrupt: the input was ended.
    """
    try:
        return getpass.getpass(question)
    except EOFError as error:
        raise KeyboardInterrupt from error


@contextmanager
def _progress(total: int, *, quiet: bool) -> Iterator[Callable[[Result], None]]:
    """Give what is told of each device as it ends: a bar on a terminal, else a line each; nothing where quiet."""
    from auditor.reports.progress import LineProgress, bar  # noqa: PLC0415 - heavy

    if quiet:
        yield lambda _: None
    elif sys.stderr.isatty():
        with bar(total) as advance:
            yield advance
    else:
        yield LineProgress(sys.stderr)
