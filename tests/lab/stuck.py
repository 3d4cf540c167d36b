"""A device that lets in and then answers nothing more: no opening of a channel, of a terminal, or of a shell."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import paramiko

STAGES = ("channel", "terminal", "shell")


class _Server(paramiko.ServerInterface):
    """Answers up to a stage, and waits there."""

    def __init__(self, stage: str, over: threading.Event) -> None:
        self.stage = stage
        self.over = over

    def _answer(self, stage: str) -> bool:
        if stage == self.stage:
            self.over.wait()
        return True

    def check_auth_password(self, username: str, password: str) -> int:
        return paramiko.common.AUTH_SUCCESSFUL

    def check_channel_request(self, kind: str, chanid: int) -> int:
        self._answer("channel")
        return paramiko.common.OPEN_SUCCEEDED

    def check_channel_pty_request(self, *_: object) -> bool:
        return self._answer("terminal")

    def check_channel_shell_request(self, channel: paramiko.Channel) -> bool:
        return self._answer("shell")


@contextmanager
def stuck(stage: str) -> Iterator[tuple[int, str]]:
    """Run such a device until the end of the block; give its port and the line of its host key for known_hosts."""
    key = paramiko.ECDSAKey.generate()
    over = threading.Event()
    listener = socket.create_server(("127.0.0.1", 0), backlog=16)
    port = listener.getsockname()[1]
    found: list[paramiko.Transport] = []

    def serve() -> None:
        while True:
            try:
                sock, _ = listener.accept()
            except OSError:
                return
            transport = paramiko.Transport(sock)
            found.append(transport)
            transport.add_server_key(key)
            transport.start_server(server=_Server(stage, over), event=threading.Event())

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    try:
        yield port, f"[127.0.0.1]:{port} {key.get_name()} {key.get_base64()}\n"
    finally:
        over.set()
        listener.shutdown(socket.SHUT_RDWR)
        listener.close()
        thread.join(10)
        for transport in found:
            transport.close()
