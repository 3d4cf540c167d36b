"""``auditor manual``: the manual, from the package itself."""

from __future__ import annotations

import click


@click.command("manual")
@click.argument("page", required=False, metavar="[PAGE]")
def command(page: str | None) -> int:
    """Show a page of the manual; without PAGE, which pages there are."""
    from auditor.app.manual import manual_pages  # noqa: PLC0415 - as all libraries behind commands
    from auditor.reports.manual import show_page, show_pages  # noqa: PLC0415 - heavy

    found = manual_pages(page)
    if page is None:
        show_pages(found)
    else:
        show_page(found[0])
    return 0
