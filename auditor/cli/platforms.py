"""``auditor platforms``: what can be read, before anybody saves a capture."""

from __future__ import annotations

import click


@click.command("platforms")
def command() -> int:
    """Show which dialects can be read, how much of each, and what they cannot show and why."""
    from auditor.platforms import catalogue  # noqa: PLC0415 - heavy
    from auditor.reading.abilities import abilities_of  # noqa: PLC0415
    from auditor.reports.platforms import show_platforms  # noqa: PLC0415

    show_platforms(abilities_of(name) for name in catalogue.names())
    return 0
