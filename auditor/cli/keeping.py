"""What commands that keep something share: the history's options, and for whom files are."""

from __future__ import annotations

from pathlib import Path

import click

history_option = click.option(
    "--history",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File of the history, instead of $AUDITOR_HISTORY or the user's data directory.",
)
group_option = click.option(
    "--group", is_flag=True, help="Let the umask decide who may read the files, instead of their owner alone."
)
no_history_option = click.option("--no-history", is_flag=True, help="Do not keep this run in the history.")
