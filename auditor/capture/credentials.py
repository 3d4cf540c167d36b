"""User, password and keys of a device: from the environment, the system's keyring, or a prompt. Never from a plan.

Looked up under names that grow less particular: ``AUDITOR_PASSWORD_<SITE>_<DEVICE>``, ``AUDITOR_PASSWORD_<SITE>``,
``AUDITOR_PASSWORD_<DEVICE>``, ``AUDITOR_PASSWORD``; the same for ``AUDITOR_USER``, ``AUDITOR_ENABLE`` and
``AUDITOR_KEY`` (a file). A site is called by the plan's reference, in capitals, with ``_`` for all but letters and
digits.
"""

from __future__ import annotations

import getpass
import re
import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

SERVICE = "auditor"
"""Under which the keyring keeps passwords; the user name there is ``site/device``, ``site`` or ``*``."""


@dataclass(frozen=True, slots=True)
class Credentials:
    """How to get into a device. Shows nothing of itself."""

    user: str
    password: str | None = field(default=None, repr=False)
    enable: str | None = field(default=None, repr=False)
    key_file: str | None = None
    look_for_keys: bool = False
    agent: bool = True


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

    def of(self, device: str, user: str = "", key_files: list[str] | None = None) -> Credentials:
        """Return a device's credentials.

        Args:
            device: what the plan calls it.
            user: the user that the SSH configuration names; the environment's goes first.
            key_files: the key files that it names.
        """
        name = self._from_environment("USER", device) or user or getpass.getuser()
        key = self._from_environment("KEY", device) or next(iter(key_files or []), None)
        password = self._from_environment("PASSWORD", device) or self._from_keyring(device)
        if password is None and key is None and self._ask:
            with self._asking:
                self._asked = self._asked if self._asked is not None else self._ask(f"Password of {name}: ")
            password = self._asked or None
        enable = self._from_environment("ENABLE", device)
        self.given.update(secret for secret in (password, enable) if secret)
        return Credentials(name, password, enable, key, look_for_keys=password is None and key is None)

    def _from_environment(self, what: str, device: str) -> str | None:
        site, name = _capitals(self._site), _capitals(device)
        for tail in (f"_{site}_{name}", f"_{site}", f"_{name}", ""):
            if value := self._environment.get(f"AUDITOR_{what}{tail}"):
                return value
        return None

    def _from_keyring(self, device: str) -> str | None:
        found: Iterator[str | None] = (
            self._keyring(SERVICE, name) for name in (f"{self._site}/{device}", self._site, "*") if self._keyring
        )
        return next((password for password in found if password), None)


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
