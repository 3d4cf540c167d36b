"""What the commands that read devices share: their options, and who is asked for a password."""

from __future__ import annotations

import getpass
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from auditor.errors import UsageError

if TYPE_CHECKING:
    from auditor.app.capturing import Access
    from auditor.app.rounds import Live

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


def live_of(
    *,
    only: tuple[str, ...],
    workers: int,
    device_timeout: float,
    round_timeout: float,
    ssh_config: Path | None,
    known_hosts: Path | None,
    accept: tuple[str, ...],
    keep_going: bool,
) -> Live:
    """Return how devices are read, as the options say.

    Raises:
        UsageError: the SSH configuration that they name is not there.
    """
    from auditor.app.rounds import Live  # noqa: PLC0415 - heavy
    from auditor.capture.live import Limits  # noqa: PLC0415

    limits = Limits(workers=workers, device_seconds=device_timeout, round_seconds=round_timeout)
    return Live(_access(ssh_config, known_hosts, accept), limits, only, keep_going)


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
