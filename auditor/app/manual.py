"""What ``auditor manual`` does: the pages that ship with the package."""

from __future__ import annotations

from auditor.manual import Page, page, pages


def manual_pages(name: str | None = None) -> list[Page]:
    """Return all pages of the manual, in their order; or the one with a name.

    Raises:
        UsageError: there is none of this name; says which one was perhaps meant.
    """
    return pages() if name is None else [page(name)]
