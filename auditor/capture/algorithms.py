"""The algorithms that a connection has agreed on, and which of them are outdated."""

from __future__ import annotations

import re
from typing import Any

_OUTDATED = re.compile(r"sha1|ssh-rsa$|ssh-dss|3des|arcfour|blowfish|-cbc|md5", re.IGNORECASE)
"""Algorithms that NIST SP 800-131A or RFC 9142 no longer want (from memory)."""


def outdated(transport: Any) -> list[str]:
    """Return the outdated algorithms of a connection."""
    names = {transport.host_key_type, transport.local_cipher, transport.remote_cipher, transport.remote_mac}
    names.add(transport.agreed_kex)
    return sorted(name for name in names if name and _OUTDATED.search(name))
