"""Debian's OpenSSH server on loopback, with throw-away keys: an OpenWrt device behind it, or a jump host."""

from __future__ import annotations

import getpass
import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.lab.shells import closed_port, wait_for

SSHD = shutil.which("sshd") or "/usr/sbin/sshd"
UCI = """#!/bin/sh
# What OpenWrt's command does when it is asked to export one package.
[ "$1" = export ] && [ -f "{files}/$2" ] || {{ echo "uci: Entry not found"; exit 1; }}
printf 'package %s\\n\\n' "$2"
cat "{files}/$2"
"""
SHELL = """#!/bin/sh
# The device's shell; what it is told is written down on the way.
export PATH={bin}:/usr/bin:/bin PS1='root@{name}:~# ' ENV= HOME={home} TERM=dumb
exec /bin/sh -i
"""


@dataclass(frozen=True)
class Server:
    """A running server: its port, the line of its host key for known_hosts, and the key that lets in."""

    port: int
    known_host: str
    key_file: Path

    @property
    def user(self) -> str:
        """Who may log in: whoever runs the tests."""
        return getpass.getuser()


@contextmanager
def sshd(home: Path, command: str = "") -> Iterator[Server]:
    """Run a server until the end of the block; ``command`` is what every session runs, else it forwards alone."""
    home.mkdir(parents=True)
    for name in ("host", "user"):
        subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", home / name], check=True)
    shutil.copy(home / "user.pub", home / "authorized")
    port = closed_port()
    lines = [
        f"ListenAddress 127.0.0.1:{port}",
        f"HostKey {home}/host",
        f"AuthorizedKeysFile {home}/authorized",
        f"PidFile {home}/pid",
        "StrictModes no",
        "UsePAM no",
        "PasswordAuthentication no",
        "PermitRootLogin yes",
        f"ForceCommand {command}" if command else "AllowTcpForwarding yes",
    ]
    (home / "config").write_text("\n".join(lines) + "\n")
    if os.getuid() == 0:
        Path("/run/sshd").mkdir(parents=True, exist_ok=True)
    with (home / "log").open("wb") as log:
        process = subprocess.Popen([SSHD, "-D", "-e", "-f", home / "config"], stderr=log)
    try:
        wait_for(port, lambda: process.poll() is None)
        host_key = (home / "host.pub").read_text().split()[:2]
        yield Server(port, f"[127.0.0.1]:{port} {' '.join(host_key)}\n", home / "user")
    finally:
        process.terminate()
        process.wait(10)


def openwrt(home: Path, name: str, files: Path) -> str:
    """Set up a device with UCI files; return the command that is its shell."""
    (home / "bin").mkdir(parents=True)
    for path, text in {
        home / "bin" / "uci": UCI.format(files=files),
        home / "shell": SHELL.format(bin=home / "bin", name=name, home=home),
    }.items():
        path.write_text(text)
        path.chmod(0o755)
    return str(home / "shell")
