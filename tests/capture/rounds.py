"""Rounds with hostile secrets, plans and devices: ``python -m tests.capture.rounds 200`` shows what devices received.

Each round is one device of one plan, all of it made up by a dice that is seeded with the round's number.
"""

from __future__ import annotations

import json
import random
import re
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from auditor.app.capturing import Access, capture
from auditor.capture import session
from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.live import Limits
from auditor.errors import AuditorError, PlanError, UsageError
from auditor.plan.loader import parse
from auditor.platforms import catalogue
from auditor.platforms.definition import Platform
from tests.lab.shells import Lab, Shell, lab

SEED = 2027
PROMPTS = {
    "mikrotik_routeros": "[technician@{name}] > ",
    "fortinet": "{name} # ",
    "juniper_junos": "technician@{name}> ",
    "openwrt": "root@{name}:~# ",
    "vyos": "technician@{name}:~$ ",
    "ubiquiti_edgerouter": "technician@{name}:~$ ",
}
ORDERS = (
    "reload",
    "conf t",
    "write erase",
    "/system reset-configuration",
    "delete /force flash:",
    "reboot",
    "y",
    "yes",
)
SIGNS = (
    "\n",
    "\r",
    "\r\n",
    "\v",
    "\f",
    "\x00",
    "\x03",
    "\x1a",
    "\x1b",
    "\x7f",
    "\x85",
    "\x9b",
    "\u2028",
    "\u2029",
    "\udc85",
)
ODD = ("\u00a0", "'", '"', "\\", "$(", "`", "|", "%h", "ß", "\U0001f511", " ", "?", "!", "#", ";", "€")
QUESTIONS = (
    "Do you accept the licence? [y/n] ",
    "New password: ",
    "new password> ",
    "Your password has expired.\nPassword: ",
    "Reload? [confirm]",
    "Press any key to erase the configuration",
    "press enter to continue",
    "Press ENTER to accept --More--",
    "--More--",
    "Neues Kennwort: ",
    "(yes/no)> ",
    "Username: ",
    "core1> reload? ",
    "Save changes? (y/n)#",
    "パスワード: ",
    "\x1b[2J\x1b[HAgree\x07 [ ] ",
    "Wait",
)
TEXTS = (
    *QUESTIONS,
    "hostname core1",
    "core1#",
    "core1# reload",
    "Password:",
    "enable",
    " --More-- ",
    "-- MORE --, next page: Space, next line: Enter, quit: Control-C",
    "\x1b[24;1H\x1b[K",
    "\x08 \x08",
    "banner motd ^C Press any key to continue ^C",
    "*Nov 20 09:12:44.123: %SYS-5-RELOAD: Reload requested",
    "\x1b]0;title\x07",
    "\x05\x11\x13\x9b6n\x1b[6n\x1b[c",
    "end",
    "!",
    "technician@core1> ",
)
NAMES = (
    "core1",
    "core1\nreload",
    "-oProxyCommand=reload",
    "$(reload)",
    "core1; reload",
    "%h",
    "exit",
    "enable",
    "ö x",
    "\u2028reload",
    "*",
    "!core1",
    "PASSWORD",
)


@dataclass
class Played:
    """A round that was played.

    Attributes:
        secrets: as they were given; ``secret`` is the one for more rights, as it may be sent.
        refused: why nothing was begun, if it was not.
    """

    number: int
    platform: Platform
    shell: Shell
    secrets: list[str]
    secret: str
    hostile: bool
    refused: str = ""
    reason: str = ""
    captured: bool = False
    wrong: list[str] = field(default_factory=list)

    def lines(self) -> list[str]:
        """Return the lines that the device received, wherever anybody could see one end; blanks are a pager's."""
        text = bytes(self.shell.received).decode("utf-8", "surrogateescape")
        lines = [line.lstrip(" ") for line in re.split(r"\r\n|[\n\r\v\f\x1c-\x1e\x85\u2028\u2029]", text)]
        return lines if lines[-1] else lines[:-1]

    def check(self) -> None:
        """Note what must not be."""
        live = self.platform.live
        allowed = {*self.platform.commands, *live.pager, *live.leave, live.privilege} - {""}
        lines = self.lines()
        own = [at for at, line in enumerate(lines) if self.secret and line == self.secret and line not in allowed]
        strangers = [line for at, line in enumerate(lines) if line not in allowed and at not in own]
        told = [
            (bool(strangers), f"received {strangers}"),
            (len(own) > 1 or any(lines[at - 1] != live.privilege for at in own), "received the secret unasked"),
            (bool(set(bytes(self.shell.keys)) - {0x20}), f"received the keys {bytes(self.shell.keys)!r}"),
            (self.hostile and self.shell.connections > 0, "was connected to with a secret of several lines"),
            (self.hostile and not self.refused, "was not refused"),
            (bool(self.refused) and self.shell.connections > 0, "was connected to and then refused"),
            ("login" in self.shell.questions and bool(self.shell.received), "was answered its question at the login"),
            (any(s in self.reason + self.refused for s in self.secrets if len(s) > 3), "is told of with a secret"),
            (not self.reason.isprintable(), "is told of with control characters"),
        ]
        self.wrong = [what for wrong, what in told if wrong]


def prompt_of(platform: str) -> str:
    """Return what a device's prompt looks like."""
    return PROMPTS.get(platform, "{name}#").format(name="core1")


def secret_of(dice: random.Random, *, hostile: bool) -> str:
    """Return a made-up secret."""
    odd = "".join(dice.choice(ODD) for _ in range(dice.randint(0, 3)))
    secret = f"not0a0{odd}secret{dice.randint(100, 999)}"
    if hostile:
        return secret + dice.choice((*SIGNS, "\n", "\r", "\r\n")) + dice.choice(ORDERS)
    return secret + dice.choice(("", "", "\n", "\r\n", "\r"))


def plan_text(dice: random.Random, platform: Platform) -> bytes:
    """Return a plan with hostile names and texts; it may be refused for them."""
    name, reference = (dice.choice(NAMES) if dice.random() < 0.3 else "core1" for _ in range(2))
    text = " ".join(dice.choice(TEXTS) for _ in range(3)) if dice.random() < 0.5 else "words"
    device = {"role": "core", "platform": platform.name, "address": "127.0.0.1", "hostname": text}
    plan = {"format": 1, "site": text, "reference": reference, "devices": {name: device}}
    return json.dumps({**plan, "subnets": {"a": {"vlan": 2, "prefix": "10.0.0.0/24"}}}).encode()


def shell_of(dice: random.Random, platform: Platform, password: str, enable: str) -> Shell:
    """Return a hostile device."""
    prompt = prompt_of(platform.name)
    bodies = (
        "\n".join(["hostname core1", *(dice.choice(TEXTS) for _ in range(dice.randint(1, 12))), "end"])
        for _ in platform.commands
    )
    moments = ("login", "login", "enable", *platform.live.pager, *platform.commands)
    asked = {dice.choice(moments): dice.choice(QUESTIONS) + dice.choice(("", "\n"))} if dice.random() < 0.4 else {}
    paged = dice.random() < 0.4
    return Shell(
        prompt=prompt,
        low_prompt="core1>" if platform.live.privilege and dice.random() < 0.8 else "",
        answers=dict(zip(platform.commands, bodies, strict=True)),
        page=dice.randint(2, 5) if paged else 0,
        pager=dice.choice(("", "terminal", "no page")),
        more=dice.choice((" --More-- ", "<--- More --->", "Press any key to continue (Q to quit)")),
        pace=dice.choice(((65536, 0.0), (7, 0.005))),
        message_after=dice.randint(0, 2),
        enable=dice.choice((enable, enable, "another", "")),
        enable_asks=dice.choice(("Password: ", "Password: ", dice.choice(QUESTIONS))),
        questions=asked,
        pause=dice.choice((0.0, 0.0, 1.1)),
        greeting="Press any key to continue" if dice.random() < 0.1 else "",
        password=password,
        end=dice.choice(("\r\n", "\r\n", "\n", "\r\r\n")),
    )


def play(number: int, devices: Lab, home: Path) -> Played:
    """Play one round."""
    dice = random.Random(SEED * 1000 + number)
    hostile = dice.random() < 0.25
    which = dice.choice(("PASSWORD", "ENABLE", "ENABLE", "ENABLE", "USER", "KEY"))
    wanted = [name for name in catalogue.names() if catalogue.get(name).live.privilege or not hostile]
    platform = catalogue.get(dice.choice(wanted))
    given = {what: secret_of(dice, hostile=hostile and what == which) for what in ("PASSWORD", "ENABLE")}
    if hostile and which in ("USER", "KEY"):
        given[which] = secret_of(dice, hostile=True)
    password, enable = (given[what].rstrip("\r\n") for what in ("PASSWORD", "ENABLE"))
    shell = shell_of(dice, platform, password, enable)
    if hostile and which == "ENABLE":
        shell.low_prompt, shell.enable_asks, shell.questions, shell.greeting = "core1>", "Password: ", {}, ""
    port = devices.start(shell)
    found = Played(number, platform, shell, [password, enable, *given.values()], enable, hostile)
    (home / f"config{number}").write_text(f"Port {port}\nIdentityAgent none\n")
    (home / f"known{number}").write_text(f"[127.0.0.1]:{port} {devices.key.export_public_key().decode()}")
    environment = {"AUDITOR_USER": "technician", **{f"AUDITOR_{what}": value for what, value in given.items()}}
    access = Access(home / f"config{number}", home / f"known{number}", environment=environment)
    try:
        plan = parse("plan.yaml", plan_text(dice, platform))
        captured_sites = capture([plan], access, Limits(device_seconds=5, tries=1))
        (captured,) = (result.captured for result in captured_sites.results.values())
        found.captured = isinstance(captured, Captured)
        found.reason = captured.reason if isinstance(captured, NotCaptured) else ""
    except (PlanError, UsageError) as error:
        found.refused = str(error)
    except AuditorError as error:
        found.wrong = [repr(error)]
    found.check()
    return found


def played(numbers: Iterable[int], home: Path, workers: int = 16) -> list[Played]:
    """Play rounds, many at once."""
    with lab() as devices, ThreadPoolExecutor(workers) as pool:
        return list(pool.map(lambda number: play(number, devices, home), numbers))


def table(rounds: list[Played]) -> str:
    """Return what the devices received, beside what is allowed, a line each; each secret is called one."""
    seen: Counter[tuple[str, str]] = Counter()
    for one in rounds:
        for line in one.lines():
            seen[one.platform.name, "(the secret)" if line == one.secret else line or "(Return)"] += 1
        seen[one.platform.name, "(blank)"] += len(one.shell.keys)
    lines = [f"{'platform':22}{'times':>6}  received / allowed"]
    for name in catalogue.names():
        data = catalogue.get(name)
        allowed = [*data.live.pager, *data.commands, *data.live.leave, data.live.privilege, "(blank)"]
        allowed += ["(the secret)"] if data.live.privilege else []
        lines += [f"{name:22}{seen.pop((name, text), 0):6}  {text}" for text in allowed if text]
    lines += [f"{name:22}{count:6}  NOT ALLOWED: {text!r}" for (name, text), count in seen.items() if count]
    refused = sum(bool(one.refused) for one in rounds)
    captured = sum(one.captured for one in rounds)
    lines.append(
        f"{len(rounds)} rounds: {refused} refused before a connection, {captured} captured, "
        f"{len(rounds) - refused - captured} not captured"
    )
    return "\n".join(lines)


if __name__ == "__main__":
    session._UNANSWERED = 1.0
    with tempfile.TemporaryDirectory() as place:
        every = played(range(int(sys.argv[1])), Path(place))
    sys.stdout.write(table(every) + "\n")
    for one in every:
        for what in one.wrong:
            sys.stdout.write(f"round {one.number}, {one.platform.name}: {what}\n")
