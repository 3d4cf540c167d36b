"""How a capture fails: each with what happened, what to do next, and whether trying again can help."""

from __future__ import annotations


class CaptureFailedError(Exception):
    """One device could not be captured; becomes a NotCaptured result, never an error of the whole.

    Attributes:
        reason: what happened and what to do next, for the report.
        transient: trying again may help.
    """

    transient = False

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(reason)


class TransientError(CaptureFailedError):
    """A failure that may be over in a moment: refused, reset, timed out, cut."""

    transient = True


class StoppedError(CaptureFailedError):
    """The round was stopped before the device was done."""
