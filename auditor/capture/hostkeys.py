"""Host keys: a device is who it was before, or it is not read. Nothing here can be told to look away."""

from __future__ import annotations

import base64
import hashlib
from pathlib import Path

import paramiko

from auditor.capture.failures import CaptureFailedError


def fingerprint(key: paramiko.PKey) -> str:
    """Return a key's fingerprint as OpenSSH prints it."""
    digest = hashlib.sha256(key.asbytes()).digest()
    return "SHA256:" + base64.b64encode(digest).decode().rstrip("=")


class UnknownHostKeyError(CaptureFailedError):
    """A device is met for the first time."""

    def __init__(self, host: str, key: paramiko.PKey, device: str) -> None:
        only = f"--only {device} " if device else ""
        super().__init__(
            f"the host key of {host} is not known: {key.get_name()} {fingerprint(key)}. Compare it with what the "
            f"device shows on its console; if it is the same, run the capture once with "
            f"{only}--accept {fingerprint(key)}"
        )


class ChangedHostKeyError(CaptureFailedError):
    """A device shows another key than before."""

    def __init__(self, host: str, key: paramiko.PKey, place: str) -> None:
        super().__init__(
            f"the host key of {host} is another than the known one: {key.get_name()} {fingerprint(key)}. The device "
            "was reset or replaced, its address now belongs to another, or somebody sits in between. Find out which; "
            f'if the new key is right, take the old one away: ssh-keygen -R "{host}" -f {place}'
        )


class KnownHosts(paramiko.MissingHostKeyPolicy):
    """The file of known host keys. An unknown key is refused, but for one whose fingerprint was typed in by hand.

    Args:
        file: in the form of OpenSSH's known_hosts; it need not be there.
        device: what the plan calls the device, for the message; empty for a jump host, which is none of its devices.
        accepted: fingerprints that were accepted now.
    """

    def __init__(self, file: Path, device: str, accepted: frozenset[str] = frozenset()) -> None:
        self._file = file
        self._device = device
        self._accepted = accepted

    def load_into(self, client: paramiko.SSHClient) -> None:
        """Give a client the known keys."""
        if self._file.is_file():
            client.load_host_keys(str(self._file))

    def missing_host_key(self, client: paramiko.SSHClient, hostname: str, key: paramiko.PKey) -> None:  # noqa: ARG002
        """Refuse an unknown key, or keep one that was accepted by its fingerprint."""
        if fingerprint(key) not in self._accepted:
            raise UnknownHostKeyError(hostname, key, self._device)
        self._file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        before = self._file.read_bytes() if self._file.is_file() else b""
        with self._file.open("a", encoding="utf-8") as known:
            known.write("\n" if before and not before.endswith(b"\n") else "")
            known.write(f"{hostname} {key.get_name()} {key.get_base64()}\n")

    def check_changed(self, error: BaseException | None, host: str) -> None:
        """Raise where an error, or what led to it, says that a key has changed or is not known."""
        while error is not None:
            if isinstance(error, paramiko.BadHostKeyException):
                raise ChangedHostKeyError(error.hostname or host, error.key, str(self._file)) from None
            if isinstance(error, CaptureFailedError):
                raise error
            error = error.__cause__ or error.__context__
