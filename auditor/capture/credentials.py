"""User, password and keys of a device: from the environment, the system's keyring, or a prompt. Never from a plan.

Looked up under names that grow less particular: ``AUDITOR_PASSWORD_<SITE>_<DEVICE>``, ``AUDITOR_PASSWORD_<SITE>``,
``AUDITOR_PASSWORD_<DEVICE>``, ``AUDITOR_PASSWORD``; the same for ``AUDITOR_USER``, ``AUDITOR_ENABLE`` and
``AUDITOR_KEY`` (a file). A site is called by the plan's reference, in capitals, with ``_`` for all but letters and
digits.

Each is one line: a line end behind it is taken off, and whatever else could end a line or steer a terminal is refused
before anything is connected to.
"""

from __future__ import annotations

import getpass
import re
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from auditor.capture.lines import has_controls, without_line_end
from auditor.errors import UsageError

SERVICE = "auditor"
"""Under which the keyring keeps passwords; the user name there is ``site/device``, ``site`` or ``*``."""


@dataclass(frozen=True, slots=True)
class Credentials:
    """How to get into a device. Shows nothing of its secrets.

    Attributes:
        key_file: has to be there; ``more_keys`` are tried behind it.
        look_for_keys: whether those in ``~/.ssh`` are tried.
        agent: whether those of an SSH agent are tried.
    """

    user: str
    password: str | None = field(default=None, repr=False)
    enable: str | None = field(default=None, repr=False)
    key_file: str | None = None
    look_for_keys: bool = False
    agent: bool = True
    more_keys: tuple[str, ...] = ()

    @property
    def keys(self) -> list[str]:
        """All key files, in the order in which they are tried."""
        named = [self.key_file, *self.more_keys] if self.key_file else []
        return [str(Path(name).expanduser()) for name in named]


class Wallet:
    """Finds the credentials of the devices of a site.

    Args:
        site: the plan's reference, or its name.
        environment: the process's environment.
        ask: asks a person for a secret; ``None`` where nobody is there.
        keyring: gives a password by service and user name; ``None`` where there is no keyring.

    Attributes:
        given: the secrets that it has given out: what a device prints of them is not kept.
    """

    def __init__(
        self,
        site: str,
        environment: Mapping[str, str],
        ask: Callable[[str], str] | None = None,
        keyring: Callable[[str, str], str | None] | None = None,
    ) -> None:
        self._site = site
        self._environment = environment
        self._ask = ask
        self._keyring = keyring
        self._asked: str | None = None
        self._asking = threading.Lock()
        self.given: set[str] = set()

    def of(self, device: str, user: str = "", key_files: Sequence[str] = (), *, agent: bool = True) -> Credentials:
        """Return a device's credentials.

        Args:
            device: what the plan calls it.
            user: the user that the SSH configuration names; the environment's goes first.
            key_files: the key files that it names; those that are not there are left out, unless all are.
            agent: whether it leaves the SSH agent to us.

        Raises:
            UsageError: one of them is more than a line, or has control characters; it is not repeated.
        """
        name = self._from_environment("USER", device) or user or as_one_line(_own_name(), "the name of this user")
        own = self._from_environment("KEY", device)
        keys = [own] if own else [file for file in key_files if Path(file).expanduser().is_file()] or [*key_files[:1]]
        key = keys[0] if keys else None
        password = self._from_environment("PASSWORD", device) or self._from_keyring(device)
        if password is None and key is None and self._ask:
            with self._asking:
                if self._asked is None:
                    self._asked = as_one_line(
                        self._ask(f"Password of {name}: "), f"the password that was typed for {name}"
                    )
            password = self._asked or None
        enable = self._from_environment("ENABLE", device)
        self.given.update(secret for secret in (password, enable) if secret)
        look_for_keys = password is None and key is None
        return Credentials(name, password, enable, key, look_for_keys, agent, tuple(keys[1:]))

    def _from_environment(self, what: str, device: str) -> str | None:
        site, name = _capitals(self._site), _capitals(device)
        for tail in (f"_{site}_{name}", f"_{site}", f"_{name}", ""):
            variable = f"AUDITOR_{what}{tail}"
            if value := as_one_line(self._environment.get(variable) or "", variable):
                return value
        return None

    def _from_keyring(self, device: str) -> str | None:
        for name in (f"{self._site}/{device}", self._site, "*") if self._keyring else ():
            assert self._keyring is not None
            if password := as_one_line(
                self._keyring(SERVICE, name) or "", f"the keyring's entry {name!r} of {SERVICE!r}"
            ):
                return password
        return None


def as_one_line(text: str, source: str) -> str:
    """Return a text without the line end behind it.

    Args:
        text: may be secret.
        source: where it is from, for the message.

    Raises:
        UsageError: it has control characters; the message does not repeat it.
    """
    line = without_line_end(text)
    if has_controls(line):
        raise UsageError(
            f"{source}: there is a line end or another control character in it, so that it is more than one line. "
            "Nothing was connected to: set it again without"
        )
    return line


def _own_name() -> str:
    """Return the name of whoever runs this.

    Raises:
        UsageError: neither the environment nor the system tells it.
    """
    try:
        return getpass.getuser()
    except (ImportError, KeyError, OSError):  # which of them depends on the system and on Python's version
        raise UsageError("the name of this user is not known: set AUDITOR_USER to the devices' user") from None


def _capitals(text: str) -> str:
    return re.sub(r"[^A-Z0-9]", "_", text.upper())


def system_keyring() -> Callable[[str, str], str | None] | None:
    """Return what asks the system's keyring; ``None`` where there is none."""
    import keyring  # noqa: PLC0415 - slow to import
    from keyring.errors import KeyringError  # noqa: PLC0415

    def password(service: str, user: str) -> str | None:
        try:
            return keyring.get_password(service, user)
        except KeyringError:
            return None

    return password
