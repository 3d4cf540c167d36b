"""Text that is made to take long: ``hostile.py PLATFORM`` redacts it, and ends."""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Iterator

from auditor.redact import KnownSecrets, LineRead, redact

LONG = 100_000
WORDS = [
    *(
        "key ",
        "key: ",
        "key=",
        'key "',
        "password ",
        "password=",
        'password "',
        "secret [",
        "<token>",
        '"pin": ',
        'pass\\"',
    ),
    *("psk x ", "auth sha ", "a:b@c ", "x://a:b@", "$1$a", "$9$", "admin/x1 ", "ENC x ", "bearer x ", "-u a:b "),
    *(
        "snmpx -c ",
        "a7Bc9",
        "9f",
        "a.a",
        "a-a",
        "_",
        "{",
        "\\",
        "'",
        '"',
        ":",
        "=",
        "value=",
        "pw-x12345678 ",
        "is key ",
    ),
]
LINES = [
    *('set key "x\n', "password x\n", "-----BEGIN X-----\n", "-----BEGIN X-----\nTm90IGEga2V5\n", "# key is a b c\n"),
    *(
        "psk x\\\n    ",
        "name x\\\n",
        "description key a b c d e f\n",
        'edit "password"\n',
        "config system snmp community\n",
    ),
    *("/snmp community\n", "set name x\n", "remark login admin\n"),
]


def texts() -> Iterator[str]:
    """Yield words and lines over and over, many different names, and a line of many short names that were read."""
    for text in (*WORDS, *LINES):
        yield text * (LONG // len(text))
    yield "password: " + "#a" * (LONG // 2)
    yield "-key " * (LONG // 10) + "key " * (LONG // 8)
    yield "".join(f"key{number} " for number in range(LONG // 9))
    yield "".join(f"key{number} x\n" for number in range(LONG // 11))
    chance = random.Random("hostile")
    yield "".join(chance.choice([*WORDS, *LINES]) for _ in range(LONG // 8))


def main(platform: str) -> None:
    """Redact all of it."""
    read = LineRead({"x": "x", "a b": "a b"}, ["a b"], ["psk"], named=["key"])
    held = LineRead({"x": "x"}, held=["#", "x"])
    known = KnownSecrets(["x:a:b@", "otters are welcome here", "a.a.a.a.a", "\\\\\\\\"])
    for text in texts():
        began = time.process_time()
        lines = text.split("\n")
        for one in (read, held):
            assert len(redact(platform, lines, read=lambda _, one=one: one, known=known)) == len(lines)  # type: ignore[misc]
        if "-v" in sys.argv:
            sys.stdout.write(f"{time.process_time() - began:6.1f} s {text[:24]!r}\n")


if __name__ == "__main__":
    main(sys.argv[1])
