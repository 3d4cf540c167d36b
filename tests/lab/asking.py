"""A device that logs in by questions and answers (RFC 4256), and then says nothing more."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

import paramiko
from paramiko.server import InteractiveQuery

Challenge = tuple[str, str, str]
"""Title, instructions and question."""


@dataclass
class Asking:
    """Such a device while it runs.

    Attributes:
        answered: what it was answered.
        known_host: the line of its host key for known_hosts.
    """

    port: int
    known_host: str
    answered: list[str] = field(default_factory=list)


class _Server(paramiko.ServerInterface):
    def __init__(self, challenges: Sequence[Challenge], answered: list[str]) -> None:
        self.challenges = challenges
        self.answered = answered

    def get_allowed_auths(self, username: str) -> str:
        return "keyboard-interactive"

    def check_auth_interactive(self, username: str, submethods: str) -> InteractiveQuery:
        return self._next()

    def check_auth_interactive_response(self, responses: list[str]) -> int | InteractiveQuery:
        self.answered += responses
        return self._next() if len(self.answered) < len(self.challenges) else paramiko.common.AUTH_SUCCESSFUL

    def _next(self) -> InteractiveQuery:
        title, instructions, question = self.challenges[len(self.answered)]
        return InteractiveQuery(title, instructions, (question, False))

    def check_channel_request(self, kind: str, chanid: int) -> int:
        return paramiko.common.OPEN_FAILED_ADMINISTRATIVELY_PROHIBITED


@contextmanager
def asking(challenges: Sequence[Challenge]) -> Iterator[Asking]:
    """Run such a device until the end of the block."""
    key = paramiko.ECDSAKey.generate()
    listener = socket.create_server(("127.0.0.1", 0), backlog=16)
    port = listener.getsockname()[1]
    found = Asking(port, f"[127.0.0.1]:{port} {key.get_name()} {key.get_base64()}\n")
    transports: list[paramiko.Transport] = []

    def serve() -> None:
        while True:
            try:
                sock, _ = listener.accept()
            except OSError:
                return
            transport = paramiko.Transport(sock)
            transports.append(transport)
            transport.add_server_key(key)
            transport.start_server(server=_Server(challenges, found.answered), event=threading.Event())

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    try:
        yield found
    finally:
        listener.shutdown(socket.SHUT_RDWR)
        listener.close()
        thread.join(10)
        for transport in transports:
            transport.close()
