"""A session with one device. It reads what read-only commands answer, whole or not at all, and answers no question."""

from __future__ import annotations

import re
import time
from collections import Counter
from collections.abc import Callable

from auditor.capture import algorithms, reach, screen
from auditor.capture.allowlist import Allowlist
from auditor.capture.clock import Clock
from auditor.capture.connection import Target, connect
from auditor.capture.peers import Peer
from auditor.errors import AskedError, CaptureFailedError, TransientError
from auditor.platforms.definition import Platform, any_of

_WAIT = 0.2
_QUIET = 0.05
_QUIET_BEHIND_THE_LOGIN = 0.3
_QUIET_BEHIND_AN_END = 0.01
_QUIET_BEHIND_AN_ANSWER = 0.2
_QUIET_WITHOUT_AN_END = 2.0
"""Seconds of silence after which a prompt is taken for one, and not for text that looks like it."""
_UNANSWERED = 8.0
_STOPPED = 1.0
"""Seconds of silence after which text that looks like a question is taken for one; the same where the time is over."""
_MOST = 65536
_LARGEST_ANSWER = 8 * 1024 * 1024
_LONGEST_LINE = 256 * 1024
"""Bytes that no configuration, and no line of one, comes near; what is longer would only take time."""
_END = 4000
"""Bytes at the end of an answer in which the line that ends a configuration is looked for."""
_PAUSE = 0.004
_TAKEN = 10.0
"""Seconds within which a device has to take what is sent."""
_LOGIN = "the login"


def _interrupted(command: str) -> TransientError:
    """Return what it means that more than a prompt stood behind an answer."""
    return TransientError(f"something was printed in the middle of its answer to {command!r}; it was not kept")


class Session:
    """An open session.

    Attributes:
        weak: the outdated algorithms that it needs.
        peer: what was reached.
    """

    def __init__(self, target: Target, platform: Platform, clock: Clock, allowlist: Allowlist | None = None) -> None:
        self._target = target
        self._platform = platform
        self._clock = clock
        self._allowlist = allowlist or Allowlist(platform)
        self._prompt = screen.Prompt(platform.pattern("prompt"))
        ends, above = platform.pattern("end"), platform.pattern("above_end")
        self._ends = re.compile(rf"(?m)^{ends}[ \t\r]*$".encode()) if platform.patterns("end") else None
        self._ends_below = re.compile(rf"(?mi)^(?:{above})".encode())
        self._connection = connect(target, platform, self._allowlist, clock)
        transport = self._connection.remote_conn_pre.get_transport()
        self.weak = algorithms.outdated(transport)
        self._wire = self._connection.remote_conn
        self._asked = ""
        self._answered: Counter[str] = Counter()
        try:
            *via, place = reach.steps(self._connection.sock)
        except OSError:
            self.close()
            raise
        self.peer = Peer(place, tuple(via), transport.get_remote_server_key().asbytes())

    def begin(self) -> None:
        """Wait for the first prompt, get the right to read where that is needed, and keep the pager away.

        Raises:
            CaptureFailedError: there is no prompt, or the right was refused.
        """
        live = self._platform.live
        prompt = self._prompt.at_end(self._to_prompt(_LOGIN, quiet=_QUIET_BEHIND_THE_LOGIN, brief=True))
        if live.privilege and not prompt.endswith("#") and self._target.credentials.enable:
            prompt = self._raised(live.privilege, self._target.credentials.enable)
        self._prompt = screen.Prompt(self._platform.pattern("prompt"), prompt)
        self._bare = re.compile(re.escape(prompt.encode("latin-1")))
        for line in live.pager:
            self._send(line)
            self._to_prompt(line, quiet=0.0, brief=True)

    def _raised(self, privilege: str, secret: str) -> str:
        """Get the right to see the configuration; return the prompt behind that.

        Raises:
            CaptureFailedError: it is refused, or something else is asked.
        """

        def asked(data: bytearray) -> bool:
            return bool(self._prompt.at_end(data)) or self._asks_secret(privilege, data)

        def settled(data: bytearray) -> bool:
            return bool(self._prompt.at_end(data)) or screen.asks_password((screen.rows(data) or [""])[-1])

        self._send(privilege)
        answer = self._read(privilege, asked, brief=True)
        if not self._prompt.at_end(answer):
            self._allowlist.expect(secret)
            self._send(secret)
            self._answered[f"the secret for {privilege!r} was sent where it was asked for"] += 1
            answer = self._read(privilege, settled, brief=True)
        prompt = self._prompt.at_end(answer)
        if not prompt.endswith("#"):
            raise CaptureFailedError(f"it refused the secret for {privilege!r}: it is not tried again")
        self._allowlist.at_prompt()
        return prompt

    def _asks_secret(self, privilege: str, data: bytearray) -> bool:
        """Return whether the answer to a command is the question for its secret, and nothing else but log messages."""
        shown = screen.rows(data)
        noise = any_of(self._platform.patterns("noise"))
        return (
            bool(shown)
            and screen.asks_password(shown[-1])
            and all(row == privilege or noise.match(row) for row in shown[:-1])
        )

    def ask(self, command: str, *, whole: bool = False) -> bytes:
        """Return what a command answers, from its echo to the prompt behind it.

        Args:
            command: one of the platform's.
            whole: its answer ends with the line that ends a configuration.

        Raises:
            CaptureFailedError: it does not answer, or the connection ends in the middle.
        """
        self._send(command)
        answer = self._to_prompt(command, whole=whole, quiet=_QUIET_BEHIND_AN_ANSWER)
        echo = self._echo_of(command, answer)
        if self._asked and echo is screen.Echo.BEHIND_TEXT:
            raise _interrupted(self._asked)
        if echo is screen.Echo.TWICE:
            raise _interrupted(command)
        self._asked = command
        if echo is screen.Echo.NONE:
            self._stays_silent()
        return answer

    def finish(self) -> None:
        """End the session behind the last answer, and see that this was the end of it.

        Where the answer had only stopped at what looked like the prompt, the rest of it stands before the echo of the
        line that ends the session, or else the prompt shows itself once more.

        Raises:
            CaptureFailedError: it was not, or the device does not take the line.
        """
        if not self._platform.live.leave:
            self._stays_silent()
            return
        line = self._platform.live.leave[0]
        self._send(line)
        data = bytearray()
        silent = 0.0
        while (chunk := self._receive(_WAIT)) is not None:
            data += chunk
            silent = 0.0 if chunk else silent + _WAIT
            if silent >= _QUIET_WITHOUT_AN_END and self._echo_of(line, data) is not screen.Echo.NONE:
                break
            if self._clock.left() <= 0 or len(data) > _LARGEST_ANSWER:
                raise TransientError(f"it did not answer to {line!r} in time: log in by hand and see what it waits for")
        if self._echo_of(line, data) in (screen.Echo.BEHIND_TEXT, screen.Echo.TWICE):
            raise _interrupted(self._asked)

    def _stays_silent(self) -> None:
        """Wait a while where nothing else tells whether an answer was at its end.

        Raises:
            TransientError: more of it arrives.
        """
        data = bytearray()
        silent = 0.0
        while silent < _QUIET_WITHOUT_AN_END and (chunk := self._receive(_WAIT)) is not None:
            data += chunk
            silent = 0.0 if chunk else silent + _WAIT
            if self._clock.left() <= 0 or len(data) > _LARGEST_ANSWER:
                break
        if not screen.only_prompts(data, self._bare, any_of(self._platform.patterns("noise"))):
            raise _interrupted(self._asked)

    def _echo_of(self, line: str, data: bytes | bytearray) -> screen.Echo:
        return screen.echo_of(line, data, self._bare, any_of(self._platform.patterns("noise")))

    def close(self) -> None:
        """End the session. It is told so only where it shows its prompt: anything else might be a question."""
        try:
            for line in self._platform.live.leave:
                if self._allowlist.is_at_prompt:
                    self._send(line)
        except (OSError, EOFError, CaptureFailedError):
            pass
        self._connection.paramiko_cleanup()
        reach.close(self._connection.sock)

    def _send(self, line: str) -> None:
        """Send a line as it is typed: where netmiko would send two characters behind it, the Return alone."""
        self._write(line + self._connection.RETURN[:1])

    def _write(self, text: str) -> None:
        """Write a text that the allowlist lets through; a device that takes little at once is given time."""
        self._wire.settimeout(max(0.1, min(_TAKEN, self._clock.left())))
        try:
            self._connection.channel.write_channel(text)
        except (OSError, EOFError) as error:
            raise TransientError("the connection ended before a command could be sent") from error

    def _to_prompt(self, during: str, *, whole: bool = False, quiet: float = _QUIET, brief: bool = False) -> bytes:
        """Return all that arrives until the prompt stands at the end, behind which a line may be sent."""
        data = self._read(during, lambda found: bool(self._prompt.at_end(found)), whole=whole, quiet=quiet, brief=brief)
        self._allowlist.at_prompt()
        return data

    def _read(
        self,
        during: str,
        wanted: Callable[[bytearray], bool],
        *,
        whole: bool = False,
        quiet: float = _QUIET,
        brief: bool = False,
    ) -> bytes:
        """Return all that arrives until what is wanted stands at the end and for some seconds nothing follows.

        Where it is a whole configuration that arrives: at once behind the line that ends one, and without that line
        only after a long silence. A pager is answered, each time that it shows itself. Where the answer is ``brief``,
        what looks like a question is given up after some silence; nothing is sent into it.
        """
        data = bytearray()
        line = answered = 0
        silent = 0.0
        while True:
            found = wanted(data)
            if found and whole and self._ends:
                quiet = _QUIET_BEHIND_AN_END if self._ended(data) else _QUIET_WITHOUT_AN_END
            chunk = self._receive(max(quiet, 0.001) if found else _WAIT)
            if chunk:
                data += chunk
                silent = 0.0
                line = len(chunk) - chunk.rfind(b"\n") - 1 if b"\n" in chunk else line + len(chunk)
                if len(data) > _LARGEST_ANSWER or line > _LONGEST_LINE:
                    raise CaptureFailedError(
                        f"its answer to {during!r}, or a line of it, is longer than any configuration: check it by hand"
                    )
            elif found:
                return bytes(data)
            elif chunk is None:
                raise TransientError(
                    f"the connection ended in the middle of the answer to {during!r}; nothing of it was kept"
                )
            else:
                silent += _WAIT
                if data[answered:].strip() and self._shows_pager(data, brief=brief):
                    answered = len(data)
                    self._answered[f'a blank was sent to "{screen.quoted(screen.rows(data)[-1:])}"'] += 1
                    self._allowlist.at_pager()
                    self._write(" ")
                elif brief and silent >= _UNANSWERED:
                    self._refuse_question(during, data)
            if self._clock.left() <= 0:
                if silent >= _STOPPED:
                    self._refuse_question(during, data, whatever=brief)
                if data.strip():
                    raise CaptureFailedError(
                        f"its answer to {during!r} did not end in time: allow more, or check whether it is overloaded"
                    )
                raise TransientError(
                    f"it did not answer to {during!r} in time: log in by hand and check what it waits for"
                )

    def _shows_pager(self, data: bytearray, *, brief: bool) -> bool:
        """Return whether a pager may be answered; outside of long answers, "press any key" only where it is known."""
        last = (screen.rows(data) or [""])[-1]
        if brief and screen.wants_any_key(last):
            return any_of(self._platform.patterns("any_key")).fullmatch(last) is not None
        return screen.is_pager(last)

    def _refuse_question(self, during: str, data: bytearray, *, whatever: bool = False) -> None:
        """Raise where the last row looks like a question, or whatever it is but the echo of what was sent."""
        shown = [row for row in screen.rows(data) if row != during]
        if shown and (whatever or screen.may_ask(shown[-1])):
            own = self._target.credentials
            asked = screen.quoted(shown, [own.password, own.enable])
            when = f"at {during}" if during == _LOGIN else f"after {during!r}"
            answered = [what + (f" {times} times" if times > 1 else "") for what, times in self._answered.items()]
            raise AskedError(asked, when, answered)

    def _ended(self, data: bytearray) -> bool:
        """Return whether the line that ends a configuration has arrived, below those that it stands below."""
        last = bytes(data[-_END:])
        last = last[last.find(b"\n") + 1 :] if len(data) > _END else last
        above = [match.end() for match in self._ends_below.finditer(last)]
        return bool(self._ends and self._ends.search(last, above[-1] if above else 0))

    def _receive(self, seconds: float) -> bytes | None:
        """Return what arrives within some time: nothing if nothing does, ``None`` where the connection has ended.

        What follows at once is waited for: a line at a time would cost more than all the rest.
        """
        self._wire.settimeout(seconds)
        try:
            data: bytes = self._wire.recv(_MOST)
            while data and len(data) < _MOST:
                time.sleep(_PAUSE)
                if not self._wire.recv_ready():
                    break
                data += self._wire.recv(_MOST)
        except TimeoutError:
            transport = self._wire.get_transport()
            ended = self._wire.closed or self._wire.eof_received or not (transport and transport.is_active())
            return None if ended else b""
        return data or None
