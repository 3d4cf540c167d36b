"""SSH transports: at the login only the password is answered, and to a device only what the allowlist allows."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import paramiko
from paramiko.common import MSG_CHANNEL_DATA, MSG_CHANNEL_EXTENDED_DATA, MSG_CHANNEL_REQUEST

from auditor.capture.allowlist import Allowlist
from auditor.capture.screen import asks_password, quoted
from auditor.errors import AskedError, NotAllowedError

_REQUESTS = ("pty-req", "shell")
"""What a session is asked for: a terminal and the device's own command line."""
_ANSWERED = "the password was sent where it was asked for"
Asked = list[tuple[str, bool]]
Handler = Callable[[str, str, Asked], list[str]]


class Transport(paramiko.Transport):
    """A transport that remembers which key exchange was agreed on, and answers no unknown question at the login."""

    agreed_kex = ""

    def _activate_outbound(self) -> None:
        self.agreed_kex = getattr(self.kex_engine, "name", self.agreed_kex)
        super()._activate_outbound()  # type: ignore[misc]

    def auth_interactive(self, username: str, handler: Handler, submethods: str = "") -> list[str]:
        """Log in by questions and answers (RFC 4256): one for the password is answered once, no other one.

        Raises:
            AskedError: something else is asked.
            AuthenticationException: the password was refused.
        """
        answers: list[str] = []

        def careful(title: str, instructions: str, asked: Asked) -> list[str]:
            if not asked:
                return []
            if len(asked) > 1 or not asks_password(asked[0][0].strip()):
                told = [title, instructions, *(question for question, _ in asked)]
                asked_text = quoted([text for text in told if text.strip()], answers)
                raise AskedError(asked_text, "at the login", [_ANSWERED] if answers else [])
            if answers:
                raise paramiko.AuthenticationException("the password was asked for once more")
            answers.extend(handler(title, instructions, asked))
            return answers

        found: list[str] = super().auth_interactive(username, careful, submethods)
        return found

    def auth_interactive_dumb(self, *_args: Any, **_options: Any) -> list[str]:
        """Do not log in by asking whoever sits at the terminal, which paramiko does where a key alone is not enough.

        Raises:
            AuthenticationException: always.
        """
        raise paramiko.AuthenticationException("a second factor is wanted")


class AllowlistTransport(Transport):
    """A transport to a device: whatever is written to its command line has to pass the allowlist, whoever writes it."""

    def __init__(self, allowlist: Allowlist, sock: Any, **options: Any) -> None:
        self._allowlist = allowlist
        super().__init__(sock, **options)

    def _send_user_message(self, data: paramiko.Message) -> None:
        message = paramiko.Message(data.asbytes())
        kind = message.get_byte()[0]
        message.get_int()
        if kind == MSG_CHANNEL_DATA:
            self._allowlist.release(message.get_binary())
        elif kind == MSG_CHANNEL_EXTENDED_DATA or (kind == MSG_CHANNEL_REQUEST and message.get_text() not in _REQUESTS):
            raise NotAllowedError
        super()._send_user_message(data)  # type: ignore[misc]
