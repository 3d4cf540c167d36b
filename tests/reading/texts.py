"""Short texts read as one platform or another, for tests about a single thing."""

from __future__ import annotations

from typing import Any

from auditor.areas import Reading, read
from auditor.reading.source import CaptureFile, Disposition

IOS, ROUTEROS, UCI = "cisco_ios", "mikrotik_routeros", "openwrt"


def reading_of(platform: str, text: str | bytes, name: str = "capture") -> Reading:
    """Return the reading of one file."""
    return read(platform, [CaptureFile(name, text if isinstance(text, bytes) else text.encode())])


def ios(body: str) -> Reading:
    """Return the reading of IOS lines that are followed by the line that ends a configuration."""
    return reading_of(IOS, f"hostname sw\n{body}\nend\n")


def routeros(body: str, version: str = "7.15") -> Reading:
    """Return the reading of an export."""
    return reading_of(ROUTEROS, f"# 2026-01-01 00:00:00 by RouterOS {version}\n{body}\n")


def uci(body: str, name: str = "network") -> Reading:
    """Return the reading of a UCI file."""
    return reading_of(UCI, body + "\n", name)


def state_of(reading: Reading) -> dict[str, Any]:
    """Return the observed state as JSON values."""
    return reading.state.as_json()


def kinds(reading: Reading) -> list[str]:
    """Return what became of each line, in small letters."""
    return [Disposition(kind).name.lower() for lines in reading.lines for kind in lines.kinds]


def not_understood(reading: Reading) -> list[str]:
    """Return the lines that nobody could read, without indentation."""
    return [line.text.strip() for line in reading.quoted_not_understood()]
