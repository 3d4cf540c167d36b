"""Scripted devices on loopback: a command line behind a real SSH server that can misbehave in every way we know of.

One thread serves them all. Each records every byte that it receives.
"""

from __future__ import annotations

import asyncio
import socket
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import asyncssh

USER, PASSWORD, ENABLE = "technician", "not-the-real-password", "not-the-real-enable"
LOG_MESSAGE = b"*Nov 20 09:12:44.123: %LINK-3-UPDOWN: Interface GigabitEthernet1/0/9, changed state to down\r\n"


@dataclass
class Shell:
    """A device's command line, and how it misbehaves.

    Attributes:
        prompt: with rights; ``low_prompt``: before ``enable``, where it wants that.
        answers: by command, the text behind it.
        page: lines a page; 0: no pager. ``pager``: what switches it off begins so; empty: nothing does.
        pace: bytes a piece and seconds between pieces.
        message_after: a log message stands in the answer after so many lines.
        redraw_after: behind so many lines it prints a message and its prompt again, and thinks for a while.
        drop_after: the connection is cut after so many bytes of an answer, ``drops`` times.
        delay: seconds before each answer; ``silent``: no answer ever. ``mute``: no prompt ever.
        waits_for_return: no prompt before a Return.
        busy: so many connections are ended before the login.
        enable: the secret that it asks for; empty: it gives the rights without. ``login_delay``: seconds before it
            answers a password.
        questions: what it asks and waits for an answer to: at the ``login``, before its prompt, or behind a command,
            before its answer; ``pause``: seconds before it asks. Any answer will do, and it goes on.
        afterwards: what it asks behind the prompt that follows a command's answer, ``pause`` seconds later.
        key_delay: seconds before it does what a key at its pager says.
        greeting: what stands before the first prompt until a key is pressed.
        expired: the password is right, and it wants a new one.
        keys: the keys that it was sent without a Return.
    """

    prompt: str = "core1#"
    answers: Mapping[str, str] = field(default_factory=dict)
    low_prompt: str = ""
    page: int = 0
    pager: str = "terminal length"
    more: str = " --More-- "
    pace: tuple[int, float] = (65536, 0.0)
    message_after: int = 0
    redraw_after: int = 0
    drop_after: int = 0
    drops: int = 10_000
    delay: float = 0.0
    silent: bool = False
    mute: bool = False
    waits_for_return: bool = False
    busy: int = 0
    enable: str = ENABLE
    enable_asks: str = "Password: "
    login_delay: float = 0.0
    questions: Mapping[str, str] = field(default_factory=dict)
    pause: float = 0.0
    afterwards: Mapping[str, str] = field(default_factory=dict)
    key_delay: float = 0.0
    greeting: str = ""
    expired: bool = False
    keys: bytearray = field(default_factory=bytearray)
    password: str = PASSWORD
    end: str = "\r\n"
    received: bytearray = field(default_factory=bytearray)
    logins: int = 0
    refused: int = 0
    connections: int = 0
    sessions: int = 0
    options: dict[str, Any] = field(default_factory=dict)

    async def serve(self, process: asyncssh.SSHServerProcess[bytes]) -> None:
        """Talk to whoever logged in."""
        import asyncssh  # noqa: PLC0415 - heavy

        self.sessions += 1
        talk = _Talk(self, process)
        try:
            await talk.run()
        except (asyncssh.Error, ConnectionError, BrokenPipeError):
            pass
        finally:
            process.exit(0)


class _Talk:
    def __init__(self, shell: Shell, process: asyncssh.SSHServerProcess[bytes]) -> None:
        self.shell = shell
        self.process = process
        self.paging = shell.page
        self.prompt = shell.low_prompt or shell.prompt

    async def run(self) -> None:
        if self.shell.mute:
            await asyncio.sleep(60)
            return
        if self.shell.greeting:
            self.write(self.shell.greeting.encode())
            self.shell.keys += await self.process.stdin.read(1)
        self.write(self.shell.end.encode())
        await self.question("login")
        self.write(b"" if self.shell.waits_for_return else self.prompt.encode())
        while (line := await self.line()) is not None:
            command = line.strip()
            if command in ("exit", "quit"):
                return
            if command == "enable" and self.shell.low_prompt:
                await self.enable()
            elif self.shell.pager and command.startswith(self.shell.pager):
                self.paging = 0
                await self.question(command)
            elif command:
                await self.question(command)
                await self.answer(command)
            self.write(self.prompt.encode())
            if text := self.shell.afterwards.get(command, ""):
                await asyncio.sleep(self.shell.pause)
                self.write(f"{self.shell.end}{text}".encode())
                while await self.line():
                    pass

    async def question(self, moment: str) -> None:
        """Ask what is asked at a moment, and take whatever comes for an answer."""
        if text := self.shell.questions.get(moment, ""):
            await asyncio.sleep(self.shell.pause)
            await self.paced(text.replace("\n", self.shell.end).encode())
            await self.line()

    async def enable(self) -> None:
        if self.shell.enable:
            self.write(self.shell.enable_asks.replace("\n", self.shell.end).encode())
        if not self.shell.enable or (await self.line(echo=False) or "").strip() == self.shell.enable:
            self.prompt = self.shell.prompt
        else:
            self.write(b"% Access denied\r\n")
        await self.question("enable")

    async def answer(self, command: str) -> None:
        shell = self.shell
        if shell.silent:
            await asyncio.sleep(60)
        await asyncio.sleep(shell.delay)
        text = shell.answers.get(command)
        if text is None:
            self.write(b"% Invalid input detected at '^' marker.\r\n")
            return
        lines = text.removesuffix("\n").split("\n")
        sent = 0
        for number, line in enumerate(lines):
            if self.paging and number and number % self.paging == 0:
                self.write(shell.more.encode())
                self.shell.keys += await self.process.stdin.read(1)
                await asyncio.sleep(shell.key_delay)
                self.write(b"\x08" * len(shell.more) + b" " * len(shell.more) + b"\x08" * len(shell.more))
            if shell.message_after and number == shell.message_after:
                self.write(LOG_MESSAGE)
            if shell.redraw_after and number == shell.redraw_after:
                self.write(LOG_MESSAGE + self.prompt.encode())
                await asyncio.sleep(0.6)
            data = line.encode() + shell.end.encode()
            sent += len(data)
            if shell.drop_after and sent > shell.drop_after and shell.drops > 0:
                shell.drops -= 1
                self.process.channel.get_connection().abort()
                return
            await self.paced(data)

    async def paced(self, data: bytes) -> None:
        size, pause = self.shell.pace
        if not pause:
            self.write(data)
            return
        for start in range(0, len(data), size):
            self.write(data[start : start + size])
            await asyncio.sleep(pause)

    def write(self, data: bytes) -> None:
        self.process.stdout.write(data)

    async def line(self, *, echo: bool = True) -> str | None:
        """Return a typed line, each character echoed at once."""
        found = bytearray()
        while True:
            typed = await self.process.stdin.read(1024)
            if not typed:
                return None
            self.shell.received += typed
            found += typed
            if echo:
                self.write(typed.replace(b"\r\n", b"\n").replace(b"\r", b"\n").replace(b"\n", b"\r\n"))
            if b"\n" in found or b"\r" in found:
                if not echo:
                    self.write(b"\r\n")
                return found.decode("latin-1")


class Lab:
    """Serves shells from one thread; ``known_hosts`` has the line of each."""

    def __init__(self) -> None:
        self.loop = asyncio.new_event_loop()
        self.thread = threading.Thread(target=self.loop.run_forever, daemon=True)
        self.thread.start()
        self.key = self.new_key()
        self.known_hosts = ""
        self._servers: list[asyncssh.SSHAcceptor] = []
        self._connections: list[asyncssh.SSHServerConnection] = []

    @staticmethod
    def new_key() -> asyncssh.SSHKey:
        """Return a host key that nobody has seen before."""
        import asyncssh  # noqa: PLC0415 - heavy

        return asyncssh.generate_private_key("ssh-ed25519")

    def start(self, shell: Shell, *, key: asyncssh.SSHKey | None = None) -> int:
        """Serve a shell; return its port."""
        port: int = self._await(self._listen(shell, key or self.key))
        self.known_hosts += f"[127.0.0.1]:{port} {self.key.export_public_key().decode()}"
        return port

    async def _listen(self, shell: Shell, key: asyncssh.SSHKey) -> int:
        import asyncssh  # noqa: PLC0415 - heavy

        from tests.lab.door import Door  # noqa: PLC0415 - it imports asyncssh

        server = await asyncssh.listen(
            "127.0.0.1",
            0,
            server_factory=lambda: Door(shell, self._connections),
            server_host_keys=[key],
            process_factory=shell.serve,
            encoding=None,
            line_editor=False,
            tcp_keepalive=False,
            **shell.options,
        )
        self._servers.append(server)
        return int(server.get_port())

    def _await(self, work: Any) -> Any:
        return asyncio.run_coroutine_threadsafe(work, self.loop).result(30)

    def stop(self) -> None:
        """End all servers, what they still do, and the thread."""
        self._await(self._end())
        self.loop.call_soon_threadsafe(self.loop.stop)
        self.thread.join(10)
        self.loop.close()

    async def _end(self) -> None:
        for server in self._servers:
            server.close()
        for connection in self._connections:
            connection.abort()
        await asyncio.sleep(0.05)
        others = asyncio.all_tasks() - {asyncio.current_task()}
        for task in others:
            task.cancel()
        await asyncio.gather(*others, return_exceptions=True)


@contextmanager
def lab() -> Iterator[Lab]:
    """Give a lab that is gone afterwards."""
    found = Lab()
    try:
        yield found
    finally:
        found.stop()


def deaf_port() -> tuple[socket.socket, int]:
    """Return a socket that takes connections and never says anything, and its port."""
    listener = socket.create_server(("127.0.0.1", 0), backlog=16)
    return listener, listener.getsockname()[1]


def closed_port() -> int:
    """Return a port of loopback at which nothing listens."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return int(listener.getsockname()[1])


def wait_for(port: int, still_there: Callable[[], bool] = lambda: True) -> None:
    """Wait until something listens at a port of loopback.

    Raises:
        AssertionError: nothing does for some seconds, or what should is not there any more.
    """
    for _ in range(400):
        assert still_there()
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            time.sleep(0.02)
        else:
            return
    raise AssertionError(f"nothing listens at port {port}")
