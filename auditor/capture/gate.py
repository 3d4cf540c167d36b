"""What may be sent to a device: the read-only commands of its platform, and nothing else. Checked right at the wire."""

from __future__ import annotations

from auditor.errors import AuditorError
from auditor.platforms.definition import Platform

_KEYS = ("", "\r", "\n", "\r\n", " ")
"""Return and blank: what answers a pager, or "press any key"."""


class NotAllowedError(AuditorError):
    """Something was about to be sent that is no read-only command; it was not sent."""


class Gate:
    """Lets through commands that the platform's data name, line ends and blanks, and a secret where it is asked for."""

    def __init__(self, platform: Platform) -> None:
        live = platform.live
        self._allowed = {*platform.commands, *live.pager, *live.leave, *([live.privilege] if live.privilege else [])}
        self._secret: str | None = None

    def expect(self, secret: str) -> None:
        """Let this secret through, once."""
        self._secret = secret

    def check(self, text: str) -> None:
        """Let a text through that may be sent.

        Raises:
            NotAllowedError: it may not; the message does not repeat it.
        """
        line = text.rstrip("\r\n")
        if text in _KEYS or line in self._allowed:
            return
        if self._secret is not None and line == self._secret:
            self._secret = None
            return
        raise NotAllowedError("something else than a read-only command was about to be sent; it was held back")
