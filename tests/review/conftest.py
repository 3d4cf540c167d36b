"""The fixtures that tests of the command line share."""

from __future__ import annotations

from tests.cli.called import call

__all__ = ["call"]
