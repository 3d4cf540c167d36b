"""How commands show what the library gives them: reports on standard output, remarks and progress on standard error."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from auditor.app.publishing import SiteAudited
    from auditor.app.rounds import Listener
    from auditor.capture.live import Result


def tell(text: str) -> None:
    """Tell on standard error what went wrong or is remarkable."""
    click.echo(f"auditor: {text}", err=True)


def listener(*, quiet: bool = False) -> Listener:
    """Return what shows how a round goes; where quiet, a line a site that is not conforming, and what went wrong."""
    from auditor.app.rounds import Listener  # noqa: PLC0415 - heavy

    return Listener(tell, _quietly if quiet else _shown, _unseen if quiet else _progress)


def _shown(site: SiteAudited) -> None:
    from auditor.reports.terminal import show  # noqa: PLC0415 - heavy

    show(site.view)
    if site.out is not None and not site.failed:
        click.echo(f"Reports written to {site.out}: {', '.join(site.files)}", err=True)


def _quietly(site: SiteAudited) -> None:
    from auditor.reports.terminal import one_line  # noqa: PLC0415 - heavy

    if site.report.exit_code:
        click.echo(one_line(site.view))


@contextmanager
def _unseen(_: int) -> Iterator[Callable[[Result], None]]:
    yield lambda _: None


@contextmanager
def _progress(total: int) -> Iterator[Callable[[Result], None]]:
    """Give what is told of each device as it ends: a bar on a terminal, else a line each."""
    from auditor.reports.progress import LineProgress, bar  # noqa: PLC0415 - heavy

    if sys.stderr.isatty():
        with bar(total) as advance:
            yield advance
    else:
        yield LineProgress(sys.stderr)
