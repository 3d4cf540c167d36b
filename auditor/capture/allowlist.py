"""What may be sent to a device: the read-only commands of its platform, and nothing else. Checked right at the wire."""

from __future__ import annotations

from enum import Enum

from auditor.capture.lines import has_controls
from auditor.errors import NotAllowedError
from auditor.platforms.definition import Platform

_BLANK = " "
"""What answers a pager."""
_RETURNS = ("\r", "\n")
"""One key: of both together, a device might take the second for the answer to whatever it asks next."""


class _Shown(Enum):
    """What stands at the end of a device's output, as far as it may be answered."""

    NOTHING = 0
    PROMPT = 1
    PAGER = 2
    SECRET = 3


class Allowlist:
    """Lets through one line for each prompt that the device shows, and only one that the platform's data name.

    It is shut until whoever reads the device's output says what stands there: at a prompt, a command may follow, never
    a Return alone; at a pager, a blank; where a secret is asked for, that secret as one whole line, once. Behind
    whatever is sent, or refused, it is shut again, so that nothing is sent into a question.

    It is asked twice: ``check`` about each text before it is written, and ``release`` about the bytes on their way
    out, which have to be those that were let through.
    """

    def __init__(self, platform: Platform) -> None:
        live = platform.live
        self._commands = {*platform.commands, *live.pager, *live.leave, live.privilege}
        self._shown = _Shown.NOTHING
        self._secret = ""
        self._admitted = b""

    @property
    def is_at_prompt(self) -> bool:
        """Whether a command may be sent."""
        return self._shown is _Shown.PROMPT

    def at_prompt(self) -> None:
        """Take note that the device shows its prompt."""
        self._shown = _Shown.PROMPT

    def at_pager(self) -> None:
        """Take note that the device waits for a key to show more."""
        self._shown = _Shown.PAGER

    def expect(self, secret: str) -> None:
        """Take note that the device asks for this secret."""
        self._shown = _Shown.SECRET
        self._secret = secret

    def check(self, text: str) -> None:
        """Let a text through that may be sent now.

        Raises:
            NotAllowedError: it may not; the message does not repeat it.
        """
        shown, self._shown = self._shown, _Shown.NOTHING
        secret, self._secret = self._secret, ""
        line = text[:-1]
        whole = text[-1:] in _RETURNS and not has_controls(line)
        if (
            (shown is _Shown.PAGER and text == _BLANK)
            or (shown is _Shown.PROMPT and whole and line and line in self._commands)
            or (shown is _Shown.SECRET and whole and line and line == secret)
        ):
            self._admitted += text.encode()
            return
        raise NotAllowedError

    def release(self, data: bytes) -> None:
        """Let bytes out onto the wire that were let through, each once and in their order.

        Raises:
            NotAllowedError: they were not.
        """
        if not data or not self._admitted.startswith(data):
            raise NotAllowedError
        self._admitted = self._admitted[len(data) :]
