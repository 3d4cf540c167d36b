"""Speed, as ratios to yardsticks that are measured in the same run: ``python tests/bench/bench.py``.

Reading and comparing: milliseconds a device for 200 different switches, the median, beside one pass of a compiled
pattern over the same lines, netutils' configuration parser building its tree, and a ttp template of like reach.
Starting: ``auditor --help`` beside ``python -c pass``.
"""

from __future__ import annotations

import re
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from netutils.config.parser import IOSConfigParser
from ttp import ttp

from auditor.areas import Expected, read
from auditor.compare.judge import judge
from auditor.reading.dialect import dialect
from auditor.reading.source import CaptureFile
from tests.bench.switches import switch

COUNT = 200
ROUNDS = 3
LINE = re.compile(
    r"^\s*(?:interface (\S+)|switchport access vlan (\d+)|switchport trunk allowed vlan (\S+)|switchport mode (\S+)"
    r"|description (.+)|name (\S+)|ip address (\S+) (\S+)|network (\S+) (\S+)|default-router (\S+))"
)
TTP = """
<group name="interfaces">
interface {{ interface }}
 description {{ description | ORPHRASE }}
 switchport access vlan {{ access_vlan }}
 switchport mode {{ mode }}
 switchport voice vlan {{ voice }}
 switchport trunk native vlan {{ native_vlan }}
 switchport trunk allowed vlan {{ allowed_vlans }}
 shutdown {{ shutdown | set(True) }}
 ip address {{ address }} {{ mask }}
</group>
<group name="vlans">
vlan {{ vid | DIGIT }}
 name {{ name }}
</group>
<group name="pools">
ip dhcp pool {{ pool }}
 network {{ network }} {{ mask }}
 default-router {{ gateway }}
</group>
"""


def timed(work: Callable[[Any], object], items: Iterable[Any]) -> float:
    """Return the median milliseconds that a piece of work takes for one item."""
    found = []
    for item in items:
        begin = time.perf_counter()
        work(item)
        found.append((time.perf_counter() - begin) * 1000)
    return statistics.median(found)


def regex_pass(text: str) -> None:
    """Match one compiled pattern against every line."""
    for line in text.split("\n"):
        LINE.match(line)


def read_and_compare(job: tuple[CaptureFile, Expected]) -> None:
    """Read a capture with evidence and judge it; it conforms."""
    source, expected = job
    reading = read(expected.platform, [source])
    assert not judge(expected, reading, lambda ssid: True).mismatches


def jobs() -> list[tuple[CaptureFile, Expected]]:
    """Return switches with the plan that they conform to."""
    found = []
    for seed in range(COUNT):
        source = CaptureFile("running.cfg", switch(seed).encode())
        state = read("cisco_ios", [source]).state
        found.append((source, Expected(device=f"sw{seed}", role="access", platform="cisco_ios", state=state)))
    for template in dialect("cisco_ios").templates:
        template.forget()
    return found


def ttp_reader(text: str) -> None:
    """Read a configuration with ttp."""
    parser = ttp(data=text, template=TTP, log_level="CRITICAL")
    parser.parse(one=True)


def starting(command: list[str]) -> float:
    """Return the median milliseconds of a command's whole process."""
    return timed(lambda _: subprocess.run(command, check=True, capture_output=True), range(15))


def main() -> None:
    """Measure and print."""
    work = jobs()
    texts = [source.data.decode() for source, _ in work]
    lines = statistics.mean(text.count("\n") for text in texts)
    print(f"{COUNT} switches of {lines:.0f} lines on the average; best of {ROUNDS} rounds of medians, ms a device")
    yardstick = min(timed(regex_pass, texts) for _ in range(ROUNDS))
    figures = {"one compiled-regex pass over the lines (yardstick)": yardstick}
    figures["auditor: read with evidence and compare, every switch new"] = timed(read_and_compare, work)
    figures["auditor: the same, switches seen before"] = min(timed(read_and_compare, work) for _ in range(ROUNDS))
    figures["netutils: configuration parser, tree only"] = min(
        timed(lambda text: IOSConfigParser(text).build_config_relationship(), texts[:50]) for _ in range(ROUNDS)
    )
    figures["ttp: a template of like reach, no model, no comparison"] = timed(ttp_reader, texts[:20])
    for name, figure in figures.items():
        print(f"{figure:9.3f}  x {figure / yardstick:6.1f}  {name}")
    bare = starting([sys.executable, "-c", "pass"])
    help_page = starting([sys.executable, "-m", "auditor", "--help"])
    print(f"{bare:9.1f}  x {1:6.1f}  python -c pass (yardstick)")
    print(f"{help_page:9.1f}  x {help_page / bare:6.1f}  auditor --help")


if __name__ == "__main__":
    main()
