"""Debian's FRR on loopback: a routing daemon whose own shell answers ``show running-config``."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ZEBRA = Path("/usr/lib/frr/zebra")
VTYSH = shutil.which("vtysh")
AVAILABLE = ZEBRA.exists() and VTYSH is not None and os.getuid() == 0
CONFIG = """hostname made-up
interface lo
 description made-up loopback
 ip address 192.0.2.77/32
!
ip route 198.51.100.0/24 Null0
"""


@contextmanager
def frr() -> Iterator[str]:
    """Run the daemon until the end of the block; give the command that is its shell."""
    home = Path(tempfile.mkdtemp(prefix="frr"))
    (home / "zebra.conf").write_text(CONFIG)
    (home / "vtysh.conf").write_text("")
    for path in (home, *home.iterdir()):
        shutil.chown(path, "frr", "frr")
    home.chmod(0o755)
    sockets = ["--vty_socket", str(home)]
    options = ["-i", f"{home}/pid", "-z", f"{home}/zserv.api", "-f", f"{home}/zebra.conf", "-A", "127.0.0.1", "-P", "0"]
    with (home / "log").open("wb") as log:
        process = subprocess.Popen([ZEBRA, *sockets, *options], stdout=log, stderr=log)
    try:
        for _ in range(200):
            if (home / "zebra.vty").exists():
                break
            time.sleep(0.02)
        yield f"{VTYSH} {' '.join(sockets)} --config_dir {home}"
    finally:
        process.terminate()
        process.wait(10)
        shutil.rmtree(home)
