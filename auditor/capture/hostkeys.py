"""Host keys: a device is who it was before, or it is not read. Nothing here can be told to look away."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator
from pathlib import Path

import paramiko

from auditor.errors import CaptureFailedError, ChangedHostKeyError, RevokedHostKeyError, UnknownHostKeyError
from auditor.files import make_folder


def fingerprint(key: paramiko.PKey) -> str:
    """Return a key's fingerprint as OpenSSH prints it."""
    digest = hashlib.sha256(key.asbytes()).digest()
    return "SHA256:" + base64.b64encode(digest).decode().rstrip("=")


def _unknown(host: str, key: paramiko.PKey, device: str, unusable: str = "") -> UnknownHostKeyError:
    """Return what is told of a device that is met for the first time."""
    only = f"--only {device or 'DEVICE'} "
    return UnknownHostKeyError(
        f"the host key of {host} is not known: {key.get_name()} {fingerprint(key)}. Compare it with what the "
        f"device shows on its console; if it is the same, run the capture once with "
        f"{only}--accept {fingerprint(key)}{unusable}"
    )


def _revoked_key(host: str, key: paramiko.PKey, place: str) -> RevokedHostKeyError:
    """Return what is told of a device that shows a key that nobody may trust any more."""
    return RevokedHostKeyError(
        f"the host key of {host}, {key.get_name()} {fingerprint(key)}, is marked as revoked in {place}: the device "
        "needs a new key, or somebody sits in between"
    )


def _changed(host: str, key: paramiko.PKey, place: str) -> ChangedHostKeyError:
    """Return what is told of a device that shows another key than before."""
    return ChangedHostKeyError(
        f"the host key of {host} is another than the known one: {key.get_name()} {fingerprint(key)}. The device "
        "was reset or replaced, its address now belongs to another, or somebody sits in between. Find out which; "
        f'if the new key is right, take the old one away: ssh-keygen -R "{host}" -f {place}'
    )


class KnownHosts(paramiko.MissingHostKeyPolicy):
    """The file of known host keys. An unknown key is refused, but for one whose fingerprint was typed in by hand.

    A key that is marked as revoked is refused for every host. Keys of certificate authorities are not used, and lines
    that cannot be used are told of where a host is not known.

    Args:
        file: in the form of OpenSSH's known_hosts (sshd(8), "SSH_KNOWN_HOSTS FILE FORMAT"); it need not be there.
        device: what the plan calls the device, for the message; empty for a jump host, which is none of its devices.
        accepted: fingerprints that were accepted now.
    """

    def __init__(self, file: Path, device: str, accepted: frozenset[str] = frozenset()) -> None:
        self._file = file
        self._device = device
        self._accepted = accepted

    def load_into(self, client: paramiko.SSHClient, host: str, port: int) -> None:
        """Give a client the known keys of a host, but for those that are revoked.

        Raises:
            CaptureFailedError: the file cannot be read, or a line that revokes a key cannot be.
        """
        name = _name(host, port)
        keys = client.get_host_keys()
        revoked = self._revoked()
        for _, key in self._of(name):
            if key and key.asbytes() not in revoked and key.get_name() not in (keys.lookup(name) or {}):
                keys.add(name, key.get_name(), key)

    def keys_of(self, host: str, port: int) -> frozenset[bytes]:
        """Return the known keys of a host; none where the file cannot be read."""
        try:
            return frozenset(key.asbytes() for _, key in self._of(_name(host, port)) if key)
        except CaptureFailedError:
            return frozenset()

    def missing_host_key(self, client: paramiko.SSHClient, hostname: str, key: paramiko.PKey) -> None:  # noqa: ARG002
        """Refuse an unknown key, or keep one that was accepted by its fingerprint."""
        if key.asbytes() in self._revoked():
            raise _revoked_key(hostname, key, str(self._file))
        if fingerprint(key) not in self._accepted:
            raise _unknown(hostname, key, self._device, self._told_unusable(hostname))
        make_folder(self._file.parent)
        self._file.touch(mode=0o600)
        before = self._file.read_bytes() if self._file.is_file() else b""
        with self._file.open("a", encoding="utf-8") as known:
            known.write("\n" if before and not before.endswith(b"\n") else "")
            known.write(f"{hostname} {key.get_name()} {key.get_base64()}\n")

    def _lines(self) -> Iterator[tuple[int, list[str]]]:
        """Yield number and words of each line that says something.

        Raises:
            CaptureFailedError: the file cannot be read.
        """
        try:
            text = self._file.read_bytes().decode("latin-1") if self._file.is_file() else ""
        except OSError as error:
            raise CaptureFailedError(f"{self._file} cannot be read: {error.strerror or error}") from None
        for number, line in enumerate(text.split("\n"), 1):
            words = line.split()
            if words and not words[0].startswith("#"):
                yield number, words

    def _of(self, name: str) -> Iterator[tuple[int, paramiko.PKey | None]]:
        """Yield line and key of each entry of a host; no key where the line cannot be used."""
        for number, words in self._lines():
            if not words[0].startswith("@") and any(_is(name, each) for each in words[0].split(",")):
                yield number, _key_of(words[1:])

    def _revoked(self) -> set[bytes]:
        """Return the keys that are marked as revoked, for whatever host.

        Raises:
            CaptureFailedError: such a line cannot be read, so that any key might be meant.
        """
        found = set()
        for number, words in self._lines():
            if words[0] == "@revoked":
                key = _key_of(words[2:])
                if key is None:
                    raise CaptureFailedError(f"{self._file}:{number}: the key that is revoked there cannot be read")
                found.add(key.asbytes())
        return found

    def _told_unusable(self, name: str) -> str:
        numbers = [str(number) for number, key in self._of(name) if key is None]
        return f" ({self._file}: line {', '.join(numbers)} is about it and cannot be used)" if numbers else ""

    def check_changed(self, error: BaseException | None, host: str) -> None:
        """Raise where an error, or what led to it, says that a key has changed or is not known."""
        while error is not None:
            if isinstance(error, paramiko.BadHostKeyException):
                raise _changed(error.hostname or host, error.key, str(self._file)) from None
            if isinstance(error, CaptureFailedError):
                raise error
            error = error.__cause__ or error.__context__


def _name(host: str, port: int) -> str:
    """Return what a host is called in the file."""
    return host if port == paramiko.config.SSH_PORT else f"[{host}]:{port}"


def _is(name: str, said: str) -> bool:
    """Return whether a host is the one that a line names, in plain words or as a hash."""
    return said == name or (said.startswith("|1|") and _hashed(name, said))


def _hashed(name: str, said: str) -> bool:
    try:
        return paramiko.HostKeys.hash_host(name, said) == said
    except (ValueError, AssertionError):
        return False


def _key_of(words: list[str]) -> paramiko.PKey | None:
    """Return the key that its kind and its text in base64 stand for; ``None`` where they stand for none."""
    try:
        found: paramiko.PKey = paramiko.PKey.from_type_string(words[0], base64.b64decode(words[1], validate=True))
    except (IndexError, ValueError, EOFError, paramiko.SSHException, paramiko.pkey.UnknownKeyType):
        return None
    return found
