"""Texts that want to be more than text, for wherever a name or a value of a site, a device or a person is shown."""

from __future__ import annotations

TEXTS = {
    "script": "</script><script>alert(1)</script><img src=x onerror=alert(1)>",
    "quotes": "\"' onmouseover='alert(1)' x=\" `a` {{ 7 * 7 }} {% x %} <!-- --> ]]> &lt;b&gt;",
    "escapes": "\x1b[31mred\x1b[0m \x1b]8;;http://d.example\x07link\x1b]8;;\x07 \x9b2J \x1bP$q\x1b\\",
    "direction": "abc \u202edesrever\u202c \u2066x\u2069 \u200b\u200d\ufeff\u061c",
    "controls": "a\0b\rc\nd\x07e\x08f\x7fg\u2028h\u2029i",
    "long": "n" * 10_000,
    "markdown": "**b** [c](http://d.example) @all | `x` # h\n\n<b>",
}
DANGEROUS = {
    *(chr(code) for code in [*range(9), *range(11, 32), *range(127, 160)]),
    *"\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200b\u200d\ufeff\u061c\u2028\u2029",
}
"""Control characters but for tab and line feed, and what reorders or hides text."""
