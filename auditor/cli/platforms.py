"""``auditor platforms``: what can be read, before anybody saves a capture."""

from __future__ import annotations

import click


@click.command("platforms")
def command() -> int:
    """Show which dialects can be read, how much of each, and what they cannot show and why."""
    from auditor.app.reading import readable_platforms  # noqa: PLC0415 - heavy
    from auditor.reports.platforms import show_platforms  # noqa: PLC0415

    show_platforms(readable_platforms())
    return 0
