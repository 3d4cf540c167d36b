"""The options about the day of captures: how old they may be, and on which day saved ones were made."""

from __future__ import annotations

from datetime import date, datetime

import click

from auditor.core.report import MAX_AGES

BY_OCCASION = "by occasion"


def _max_age(ctx: click.Context, param: click.Parameter, value: str) -> int | str | None:
    """Return a number of days, ``None`` for any number, or BY_OCCASION."""
    if value == "none":
        return None
    if value != BY_OCCASION and not (value.isascii() and value.isdigit()):
        raise click.BadParameter(f"{value!r} is neither a number of days nor none", ctx, param)
    return value if value == BY_OCCASION else int(value)


def _on(ctx: click.Context, param: click.Parameter, value: str | None) -> date | None:
    """Return a day on which captures can have been made."""
    if value is None:
        return None
    try:
        day = datetime.strptime(value, "%Y-%m-%d").date()  # noqa: DTZ007 - a day has no zone
    except ValueError:
        raise click.BadParameter(f"{value!r} is no day: write YYYY-MM-DD, such as 2026-11-30", ctx, param) from None
    if not date(2000, 1, 1) <= day <= date.today():  # noqa: DTZ011 - the day where it is asked
        raise click.BadParameter(f"{day} is not a day between 2000 and today", ctx, param)
    return day


max_age_option = click.option(
    "--max-age",
    metavar="DAYS|none",
    default=BY_OCCASION,
    callback=_max_age,
    help="The age in days up to which captures leave an audit complete; "
    f"default: {', '.join(f'{days} ({occasion})' for occasion, days in MAX_AGES.items())}.",
)
captured_on_option = click.option(
    "--captured-on",
    metavar="DATE",
    callback=_on,
    help="The day (YYYY-MM-DD) of saved captures that do not show it.",
)
