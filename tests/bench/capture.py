"""Speed of live capture, as ratios to bare netmiko and raw asyncssh in the same run: ``tests/bench/capture.py``.

Simulated devices, served by a process of their own, each need half a second for the answer to one command. Wall time
for all of them, and the processor time that each costs this process.
"""

from __future__ import annotations

import asyncio
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

import asyncssh
from netmiko import ConnectHandler

from auditor.capture.connection import Target
from auditor.capture.credentials import Credentials
from auditor.capture.hostkeys import KnownHosts
from auditor.capture.interface import Captured
from auditor.capture.live import CaptureRun, Job, Limits
from auditor.capture.reach import direct
from auditor.platforms import catalogue
from tests.bench.switches import switch
from tests.lab.shells import PASSWORD, USER, Lab, Shell

COUNT = 100
DELAY = 0.5
COMMAND = "show running-config"
PLATFORM = catalogue.get("cisco_ios").model_copy(update={"commands": [COMMAND]})


def serve(count: int, delay: float) -> None:
    """Serve devices until standard input ends; print their ports, then their host key."""
    lab = Lab()
    ports = [
        lab.start(Shell(prompt=f"sw{number}#", answers={COMMAND: switch(number)}, delay=delay))
        for number in range(count)
    ]
    print(*ports, flush=True)
    print(lab.key.export_public_key().decode().strip(), flush=True)
    sys.stdin.read()
    lab.stop()


def by_auditor(ports: list[int], workers: int, known: Path) -> None:
    """Read all devices as the audit does, secrets taken out."""

    def job(port: int) -> Job:
        credentials = Credentials(USER, PASSWORD, agent=False)
        way = Target(
            "sw", "127.0.0.1", port, credentials, lambda t: direct("127.0.0.1", port, t), KnownHosts(known, "sw")
        )
        return Job(("site", str(port)), "127.0.0.1", PLATFORM, way)

    found = CaptureRun(Limits(workers=workers)).run([job(port) for port in ports])
    assert all(isinstance(result.captured, Captured) for result in found.values()), found


def by_netmiko(ports: list[int], workers: int, **_: object) -> None:
    """Read all devices with netmiko as it comes."""

    def one(port: int) -> str:
        with ConnectHandler(
            device_type="cisco_ios", host="127.0.0.1", port=port, username=USER, password=PASSWORD, allow_agent=False
        ) as connection:
            return str(connection.send_command(COMMAND))

    with ThreadPoolExecutor(workers) as pool:
        assert all(text.endswith("end") for text in pool.map(one, ports))


def by_asyncssh(ports: list[int], workers: int, **_: object) -> None:
    """Read all devices over raw asyncssh: the floor."""

    async def one(port: int, gate: asyncio.Semaphore) -> None:
        async with (
            gate,
            asyncssh.connect(
                "127.0.0.1", port, username=USER, password=PASSWORD, known_hosts=None, client_keys=None, agent_path=None
            ) as connection,
        ):
            process = await connection.create_process(term_type="vt100", encoding=None)
            await process.stdout.readuntil(b"#")
            process.stdin.write(f"{COMMAND}\n".encode())
            await process.stdout.readuntil(b"\nend\r\n")

    async def every() -> None:
        gate = asyncio.Semaphore(workers)
        await asyncio.gather(*(one(port, gate) for port in ports))

    asyncio.run(every())


def measured(work: Callable[[], None]) -> tuple[float, float]:
    """Return wall and processor seconds of a piece of work: the quicker of two."""
    found = []
    for _ in range(2):
        wall, processor = time.perf_counter(), time.process_time()
        work()
        found.append((time.perf_counter() - wall, time.process_time() - processor))
    return min(found)


def compare(count: int, workers: int, delay: float) -> None:
    """Measure all three ways with so many devices and workers, and print a line each."""
    server = subprocess.Popen(
        [sys.executable, __file__, "--serve", str(count), str(delay)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert server.stdout is not None
    assert server.stdin is not None
    ports = [int(port) for port in server.stdout.readline().split()]
    key = server.stdout.readline().strip()
    with tempfile.TemporaryDirectory() as home:
        known = Path(home) / "known_hosts"
        known.write_text("".join(f"[127.0.0.1]:{port} {key}\n" for port in ports))
        figures = {
            "asyncssh, raw": measured(lambda: by_asyncssh(ports, workers)),
            "netmiko as it comes": measured(lambda: by_netmiko(ports, workers)),
            "auditor": measured(lambda: by_auditor(ports, workers, known)),
        }
    server.stdin.close()
    server.wait(30)
    floor, bare = figures["asyncssh, raw"], figures["netmiko as it comes"]
    print(f"{count} devices of {delay} s, {workers} at once")
    for name, (wall, processor) in figures.items():
        print(
            f"  {name:20}{wall:8.2f} s wall {1000 * processor / count:8.1f} ms processor a device"
            f"   wall x {wall / floor[0]:5.2f} of asyncssh, x {wall / bare[0]:5.2f} of netmiko;"
            f" processor x {processor / bare[1]:5.2f} of netmiko"
        )


def main() -> None:
    """Measure one device, then many."""
    compare(1, 1, 0.0)
    compare(10, 1, DELAY)
    compare(COUNT, 32, DELAY)
    compare(COUNT, 100, DELAY)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--serve"]:
        serve(int(sys.argv[2]), float(sys.argv[3]))
    else:
        main()
