"""What a report format is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from auditor.reports.view import View


@dataclass(frozen=True, slots=True)
class Format:
    """A report format: the name of its file, and what makes its bytes of a view.

    Attributes:
        installed: whether it can be made here.
        made_with: of a format in whose bytes a library has a say, that library with its version.
        libraries: the names that ``made_with`` may have, that of the library which it always has first.
        of_machine: whether the machine has a say in them, too.
        contents: what is read in such a file, whichever version of the library made it; ``None`` where it is damaged.
    """

    file: str
    render: Callable[[View], bytes]
    installed: Callable[[], bool] = lambda: True
    made_with: Callable[[], str] | None = None
    of_machine: Callable[[View], bool] = lambda _: False
    contents: Callable[[bytes], Any] | None = None
    libraries: tuple[str, ...] = ()
