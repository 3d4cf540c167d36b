"""Secrets that are known by the name in front of them, in whatever syntax a name and its value are written."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Callable, Iterator

from auditor.redact.looks import Span, looks_secret
from auditor.redact.words import DIGEST, QUALIFIERS, TAKES_WORD, Level, is_option, level_of

_NAME = re.compile(r"[A-Za-z][\w.-]*")
_ASSIGNED = re.compile(r"(?:\\*[\"'])?[\])]?[ \t]{0,12}(?::=|=>|==?|:(?![:/])|\((?=\\*[\"']))[ \t]{0,12}")
"""``name=``, ``"name": ``, ``name := ``, ``['name'] => ``, ``name(``."""
_ELEMENT = re.compile(r"(?:[ \t][^<>\n]{0,200})?>")
"""The rest of the tag that begins with a name: ``<name kind="x">``."""
_PAIRED = re.compile(r"\\*[\"'][ \t,;]{1,4}\\*[\"']?(?:value|secret|content)\\*[\"']?[ \t]*[:=][ \t]*", re.IGNORECASE)
"""From the end of ``name="…"`` to the value that belongs to it."""
_APART = re.compile(r"(?:\\*[\"'])?[\])]?[ \t]+")
_QUOTE = re.compile(r"(\\*)([\"'])")
_BARE = re.compile(r"\S+")
_BARE_INSIDE = re.compile(r"(?:\\[^rntRN\"'\s]|[^\s\"'\\])+")
"""A word within quotes: it ends before them, or where an end of line is spelt out."""
_MASKED = re.compile(
    r"(?:<[\w .:-]*>|\*+|x{3,}|\.{3,}|\\*\$\{\w+\}|\\\$\w+|\{\{[^{}]*\}\}"
    r"|\[\w* ?hidden\])(?![^\s\"'\\;,<])", re.IGNORECASE)
"""What stands in the place of a secret, or names the variable that holds it."""
_SEAL = re.compile(r"sealed\.\d\.[0-9a-f.]+")
_BY_PAIRS = re.compile(r"\d+(?::\d+)+")
"""What routing calls a community: two numbers."""
_MEMBER = re.compile(r"[\w.-]+=")
_HIDES = re.compile(
    r"(?:^|[-_.])(?:\w{0,20}(?:password|passwd|passphrase|secret|psk|token)|pass|pwd?|key|pin)[-_.](?P<value>[A-Za-z0-9]{8,})$",
    re.IGNORECASE,
)
"""A name of which the secret is the last part: ``wifi-pw-…``."""
_DOUBLE = re.compile('"')
_SPOKEN = re.compile(
    r"[ \t]*(?:[!#;*]|//|/\*)|[^\n]{0,120}?\b(?:description|remark|comments?|banner|note|motd|annotate|alias"
    r"|contact|location)[ \t:='\"]",
    re.IGNORECASE,
)
"""The beginning of a line that people wrote for people, up to what they wrote."""
_LOGINS = frozenset(["login", "logins", "cred", "creds"])
_MOST_WORDS = 12
_LONGEST = 8192


class ByName:
    """Finds in a text the values of names of secrets, line by line.

    Args:
        text: the text; a value that is wrapped over lines stands on one.
        strict: it is what somebody wrote into a name or a description, where only what looks like a secret is one.
        is_prose: whether the line that begins at a place is none of a configuration, as in a banner.

    Attributes:
        unclosed: where lines end within a value whose quotes are not closed there.
    """

    def __init__(self, text: str, *, strict: bool = False, is_prose: Callable[[int], bool] = lambda _: False) -> None:
        self.text = text
        self._strict = strict
        self._is_prose = is_prose
        self._start, self._end = 0, -1
        self._quotes: list[int] = []
        self._written: int | None = None
        self._prosaic = False
        self._done = 0
        self.unclosed: list[int] = []

    def spans(self) -> Iterator[Span]:
        """Yield where the secrets stand."""
        for match in _NAME.finditer(self.text):
            name = match[0].rstrip(".-_")
            level = level_of(name)
            if level and match.start() >= self._done:
                if match.end() > self._end:
                    self._enter_line(match.start())
                for span in self._behind(level, name, match.start()):
                    self._done = max(self._done, span[1])
                    yield span
                if level is Level.SECRET or name.lower() in _LOGINS:
                    yield from self._prose()
            elif hidden := _HIDES.search(name) if len(name) > 10 else None:
                if looks_secret(hidden["value"]) and not is_option(hidden["value"]):
                    yield match.start() + hidden.start("value"), match.end()

    def _enter_line(self, position: int) -> None:
        text = self.text
        self._start = text.rfind("\n", 0, position) + 1
        end = text.find("\n", position)
        self._end = len(text) if end < 0 else end
        self._quotes = [m.start() for m in _DOUBLE.finditer(text, self._start, self._end)]
        spoken = _SPOKEN.match(text, self._start, self._end)
        self._written = spoken.end() if spoken else self._start if self._is_prose(self._start) else None
        self._prosaic = self._written is not None

    def _inside(self, position: int) -> bool:
        """Return whether a place is within double quotes."""
        return bisect_left(self._quotes, position) % 2 == 1

    def _prose(self) -> Iterator[Span]:
        """Yield all that looks like a secret in a line that people wrote for people, once."""
        start, self._written = self._written, None
        if start is not None:
            for match in _BARE.finditer(self.text, start, self._end):
                word = match[0].strip("\"'`()[]{}<>.,;:!?")
                if looks_secret(word) and not is_option(word) and "=" not in word:
                    first = match.start() + match[0].index(word)
                    yield first, first + len(word)

    def _behind(self, level: Level, name: str, start: int) -> Iterator[Span]:
        """Yield the values that belong to a name: one, or those of a list."""
        text, end = self.text, start + len(name)
        before = text[start - 1] if start > self._start else ""
        if before == "<" and (tag := _ELEMENT.match(text, end, self._end)):
            stop = text.find("<", tag.end(), self._end)
            yield from self._accepted(level, name, (tag.end(), self._end if stop < 0 else stop))
        elif assigned := _ASSIGNED.match(text, end, self._end):
            yield from self._assigned(level, name, before, assigned.end(), assigned[0].strip())
        elif (paired := _PAIRED.match(text, end, self._end)) and level >= Level.KEY:
            yield from self._assigned(level, name, "", paired.end(), "=")
        elif before not in ("=", ",") and (apart := _APART.match(text, end, self._end)):
            closes = apart[0][0] not in " \t"
            if not closes or (before == apart[0][0] and text[apart.end() : apart.end() + 1] in ('"', "'")):
                yield from self._apart(level, name, apart.end())

    def _assigned(self, level: Level, name: str, before: str, position: int, sign: str) -> Iterator[Span]:
        """Yield the value behind a sign, or those of a list in brackets."""
        text = self.text
        if text.startswith("[", position):
            stop = text.find("]", position, min(self._end, position + _LONGEST))
            position += 1
            while 0 <= position < stop:
                while position < stop and text[position] in " \t,":
                    position += 1
                span = self._value(position, stop)
                yield from self._accepted(level, name, span)
                position = max(span[1] + 1, position + 1)
            return
        span = self._value(position, self._end)
        if name.lower().endswith("cookie") or (sign == ":" and level is Level.SECRET and text[position - 1] in " \t"):
            span = self._clause(span)
        elif name.lower().endswith("authorization"):
            span = self._clause(span)
        elif before in ("?", "&", ";") and "&" in text[slice(*span)]:
            span = span[0], text.index("&", *span)
        yield from self._accepted(level, name, span)

    def _clause(self, span: Span) -> Span:
        """Return a value with the words behind it, where nothing puts it in quotes."""
        text, (start, stop) = self.text, span
        if stop < self._end and text[stop] in "\"'\\" or self._inside(start):
            return span
        return start, max(stop, start + len(text[start : self._end].rstrip(" \t\"';,")))

    def _apart(self, level: Level, name: str, position: int) -> Iterator[Span]:
        """Yield the value behind blanks, and behind the words that say of which form it is or whose."""
        digests = 0
        for _ in range(_MOST_WORDS):
            if position >= self._end:
                return
            quoted = _QUOTE.match(self.text, position, self._end)
            start, stop = self._value(position, self._end)
            word = self.text[start:stop].lower()
            position = stop + (len(quoted[0]) if quoted else 0)
            while position < self._end and self.text[position] in " \t":
                position += 1
            more = position < self._end
            if not quoted and more and (word.endswith(":") or word in QUALIFIERS or re.fullmatch(r"\d{1,3}|8a", word)):
                continue
            if not quoted and more and DIGEST.fullmatch(word):
                digests += 1
                continue
            if not quoted and more and word in TAKES_WORD:
                _, position = self._value(position, self._end)
                position += self.text[position : position + 1] in ('"', "'")
                while position < self._end and self.text[position] in " \t":
                    position += 1
                continue
            if not quoted and (word[:1] in "{}[]();|&=" or _MEMBER.match(word)):
                return
            if level is Level.HINT and digests:
                level = Level.KEY
            yield from self._accepted(level, name, (start, stop))
            return

    def _value(self, position: int, end: int) -> Span:
        """Return what stands in quotes, without them, or the word that stands there."""
        text = self.text
        opened = _QUOTE.match(text, position, end)
        if opened:
            start = opened.end()
            if opened[1]:
                closed = text.find(opened[0], start, end)
            elif opened[2] == '"':
                closed = start
                while 0 <= (closed := text.find('"', closed, end)) and _escaped(text, closed, start):
                    closed += 1
            else:
                closed = text.find("'", start, end)
                while closed >= 0 and text.startswith("'\\''", closed):
                    closed = text.find("'", closed + 4, end)
            if closed < 0 and opened[0] == '"' and end == self._end:
                self.unclosed.append(end)
            return start, end if closed < 0 else closed
        bare = (_BARE_INSIDE if self._inside(position) else _BARE).match(text, position, end)
        if not bare:
            return position, position
        stop = bare.end()
        while stop > position + 1 and text[stop - 1] in ";,\"'`" or (text[stop - 1] in ")]}" and "(" not in bare[0]):
            stop -= 1
        return position, max(stop, position)

    def _accepted(self, level: Level, name: str, span: Span) -> Iterator[Span]:
        """Yield a value, if it can be a secret."""
        value = self.text[slice(*span)].strip()
        if not value or _MASKED.match(value) or _SEAL.fullmatch(value) or _BY_PAIRS.fullmatch(value):
            return
        if value.isdigit() and len(value) < (4 if level < Level.SECRET else 3):
            return
        bare = value.rstrip(".!?")
        if is_option(bare) and not (level is Level.SECRET and bare != bare.lower()):
            return
        picked = looks_secret(bare) or any(map(looks_secret, bare.split()))
        number = level is Level.SECRET and bare.isdigit() and "pin" in name.lower()
        start = span[0]
        spoken = self._strict or (level is Level.KEY and (self._prosaic or self._inside(start)))
        if (level is Level.HINT or spoken) and not picked and not number:
            return
        yield span


def _escaped(text: str, position: int, start: int) -> bool:
    """Return whether a sign has an odd number of backslashes before it."""
    count = 0
    while position - count > start and text[position - count - 1] == "\\":
        count += 1
    return count % 2 == 1
