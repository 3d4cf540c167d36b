"""What a report format is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from auditor.reports.view import View


@dataclass(frozen=True, slots=True)
class Format:
    """A report format: the name of its file, and what makes its bytes of a view.

    Attributes:
        made_with: what besides this tool has a say in the bytes; ``None`` where the machine has.
    """

    file: str
    render: Callable[[View], bytes]
    made_with: Callable[[View], str | None] = lambda _: ""
