"""Secrets that are known by the name in front of them, in whatever syntax a name and its value are written."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import lru_cache
from itertools import islice

from auditor.redact.line import Line
from auditor.redact.looks import Span, looks_secret
from auditor.redact.words import (
    OF_LOGINS,
    QUALIFIERS,
    ROLES,
    TAKES_WORD,
    Suspicion,
    is_algorithm,
    is_harmless,
    is_option,
    is_spoken,
    level_of,
)

_NAME = re.compile(r"[A-Za-z][\w.-]*")
_ASSIGNED = re.compile(r"(?:\\*[\"'])?[\])]?[ \t]{0,12}(?::=|=>|==?|:(?![:/])|\((?=\\*[\"']))[ \t]{0,12}")
"""``name=``, ``"name": ``, ``name := ``, ``['name'] => ``, ``name(``."""
_ELEMENT = re.compile(r"(?:[ \t][^<>\n]{0,200})?>")
"""The rest of the tag that begins with a name: ``<name kind="x">``."""
_PAIRED = re.compile(
    r"(?:\\*[\"'])?(?:[ \t,;]{1,4}|[ \t]*\{?\n[ \t]*(?:set[ \t]+)?)\\*[\"']?(?:value|content)\\*[\"']?(?:[ \t]*[:=])?"
    r"[ \t]*(?=[^\s=:])",
    re.IGNORECASE,
)
"""From the end of ``name="…"`` to the value that belongs to it, on the same line or below."""
_LATER = re.compile(r"[^\n]{0,160}?[ \t,;\"']value\\*[\"']?[ \t]*[:=][ \t]*", re.IGNORECASE)
_APART = re.compile(r"(?:\\*[\"'])?[\])]?[ \t]+")
_BARE = re.compile(r"\S+")
_NUMBER = re.compile(r"\d{1,3}|8a")
"""The number of a type, of a key or of a level."""
_MASKED = re.compile(
    r"(?:<[\w .:-]*>|\*+|x{3,}|\.{3,}|\\*\$\{\w+\}|\\\$\w+|\{\{[^{}]*\}\}|\[\w* ?hidden\])(?![^\s\"'\\;,<])",
    re.IGNORECASE,
)
"""What stands in the place of a secret, or names the variable that holds it."""
_BY_PAIRS = re.compile(r"\d+(?::\d+)+(?:[ ,]+\d+(?::\d+)+)*")
"""What routing calls communities: pairs of numbers."""
_MEMBER = re.compile(r"[\w.-]+=")
_HIDES = re.compile(
    r"(?:^|[-_.])(?:\w{0,20}(?:password|passwd|passphrase|secret|psk|token)|pass|pwd?|key|pin)[-_.]"
    r"(?P<value>[A-Za-z0-9]{8,})$",
    re.IGNORECASE,
)
"""A name of which the secret is the last part: ``wifi-pw-…``."""
_COMMENT = re.compile(r"[ \t]*(?:[!#;*]|//|/\*)")
_SPOKEN = re.compile(
    r"\b(?:description|remark|comments?|banner|note|motd|annotate|announcement|message|alias|contact|location)"
    r"[ \t:='\"]",
    re.IGNORECASE,
)
"""The beginning of a line that people wrote for people, up to what they wrote."""
_TELL = frozenset(["is", "was", "=", "now"])
_LOGINS = frozenset(["login", "logins", "cred", "creds", "credential", "credentials"])
_PLAIN = frozenset(["pw", "pwd", "passwd"])
"""Names that stand in front of nothing but a secret, in whatever text."""
_PAIR = re.compile(r"[\w.-]{1,32}:[^\s:]{4,}")
_SAID = re.compile(r"[^\W\d_]{4,}(?:[-.][^\W\d_]{2,})*")
"""A plain word, as somebody has it for a password."""
_BEFORE = re.compile(r"[^\W_]+")
_FAR = 40
"""Signs in front of a name among which the word stands that says what it is for."""
_VARIABLE = re.compile(r"[A-Z][A-Z0-9_]*")
_WHOLE = frozenset(["cookie", "set-cookie", "authorization", "proxy-authorization"])
"""Names of what goes on to the end of the line."""
_MOST_WORDS = 12
_LONGEST_LIST = 8192
_FEW = 200
_LONGEST_NAME = 64
_LONGEST_BEGINNING = 160
_GOES_ON = re.compile(r"[\w.-]")
_BEGAN = re.compile(r"[A-Za-z][\w.-]*\Z")
"""What makes a name part of a longer one: what follows, or a letter before it in the same run of signs."""


@lru_cache(maxsize=65536)
def matters(name: str) -> bool:
    """Return whether a name says that a secret follows, or holds one itself."""
    return level_of(name.rstrip(".-_")) is not Suspicion.NONE or (
        10 < len(name) < 200 and _HIDES.search(name) is not None
    )


class ByName:
    """Finds in a text the values of names of secrets, line by line.

    Args:
        text: the text; a value that is wrapped over lines stands on one.
        strict: it is what somebody wrote into a name or a description, where only what looks like a secret is one.
        is_prose: whether the line that begins at a place is none of a configuration, as in a banner.
        is_named: whether a word was read as the name of a thing, behind which the thing's own words follow.

    Attributes:
        unclosed: where lines end within a value whose quotes are not closed there.
    """

    def __init__(
        self,
        text: str,
        *,
        strict: bool = False,
        is_prose: Callable[[int], bool] = lambda _: False,
        is_named: Callable[[Span], bool] = lambda _: False,
    ) -> None:
        self.text = text
        self.unclosed: list[int] = []
        self._strict = strict
        self._is_prose = is_prose
        self._is_named = is_named
        self._line = Line("", 0)
        self._line.end = -1
        self._said: tuple[int | None, bool] | None = None
        self._quoted = False

    def spans(self) -> Iterator[Span]:
        """Yield where the secrets stand."""
        done = 0
        for start, end in self._names():
            name = self.text[start:end].rstrip(".-_")
            level = level_of(name)
            if level and start >= done:
                if start > self._line.end:
                    self._line = Line(self.text, start)
                    self._said = None
                for span in self._behind(level, name, start):
                    named = span[1] - span[0] < _LONGEST_NAME and level_of(self.text[slice(*span)])
                    if not named:  # else it may be one more name, as in "psk set-key …"
                        done = max(done, span[1])
                    yield span
                if self._line.unclosed:
                    self.unclosed.append(self._line.end)
                    self._line.unclosed = False
                if level is Suspicion.SECRET or name.lower() in _LOGINS:
                    yield from self._all_written()
            elif (hidden := _HIDES.search(name)) and looks_secret(hidden["value"]) and not is_option(hidden["value"]):
                yield start + hidden.start("value"), end

    def _names(self) -> list[Span]:
        """Return where names stand that matter, in their order: few are looked for one by one, which is quicker."""
        names = {name for name in set(_NAME.findall(self.text)) if matters(name)}
        if len(names) > _FEW:
            return [match.span() for match in _NAME.finditer(self.text) if match[0] in names]
        found = []
        for name in names:
            at = self.text.find(name)
            while at >= 0:
                behind = at + len(name)
                began = at and _GOES_ON.match(self.text, at - 1) and _BEGAN.search(self.text, max(at - 80, 0), at)
                if not began and not _GOES_ON.match(self.text, behind):
                    found.append((at, behind))
                at = self.text.find(name, behind)
        return sorted(found)

    @property
    def _of_line(self) -> tuple[int | None, bool]:
        """From where on people have written something in the line, and whether it is part of the configuration."""
        if self._said is None:
            line = self._line
            comment = _COMMENT.match(self.text, line.start, line.end)
            spoken = comment or _SPOKEN.search(self.text, line.start, min(line.end, line.start + _LONGEST_BEGINNING))
            written = spoken.end() if spoken else line.start if self._is_prose(line.start) else None
            self._said = written, written is not None and not comment
        return self._said

    @property
    def _spoken(self) -> bool:
        return self._strict or self._of_line[1]

    def _all_written(self) -> Iterator[Span]:
        """Yield all that looks like a secret in a line that people wrote for people, once."""
        start, spoken = self._of_line
        self._said = None, spoken
        for match in _BARE.finditer(self.text, start, self._line.end) if start is not None else ():
            word = match[0].strip("\\\"'`()[]{}<>.,;:!?")
            if looks_secret(word) and not is_option(word) and "=" not in word:
                first = match.start() + match[0].index(word)
                yield first, first + len(word)

    def _behind(self, level: Suspicion, name: str, start: int) -> Iterator[Span]:
        """Yield the values that belong to a name: one, or those of a list."""
        text, line, end = self.text, self._line, start + len(name)
        before = text[start - 1] if start > line.start else ""
        self._quoted = line.inside(start)
        if before == "<" and (tag := _ELEMENT.match(text, end, line.end)):
            stop = text.find("<", tag.end(), line.end)
            yield from self._accepted(level, name, (tag.end(), line.end if stop < 0 else stop))
        elif assigned := _ASSIGNED.match(text, end, line.end):
            yield from self._assigned(level, name, before, assigned.end(), assigned[0].strip())
        elif level >= Suspicion.KEY and (paired := _PAIRED.match(text, end)):
            beside = Line(text, paired.end()) if "\n" in paired[0] else line
            yield from self._accepted(level, name, beside.value(paired.end()))
        elif before not in ("=", ",") and (apart := _APART.match(text, end, line.end)):
            closes = apart[0][0] not in " \t"
            follows = not closes or (before == apart[0][0] and text[apart.end() : apart.end() + 1] in ('"', "'"))
            if follows and not self._is_named((start, end)):
                yield from self._apart(level, name, apart.end())

    def _assigned(self, level: Suspicion, name: str, before: str, position: int, sign: str) -> Iterator[Span]:
        """Yield the value behind a sign, or those of a list in brackets."""
        text, line = self.text, self._line
        if text.startswith("[", position):
            stop = text.find("]", position, min(line.end, position + _LONGEST_LIST))
            position += 1
            while 0 <= position < stop:
                span = line.value(position, stop)
                yield from self._accepted(level, name, span) if text[position] not in " \t," else ()
                position = max(span[1] + 1, position + 1)
            return
        start, stop = line.value(position)
        if later := self._value_of(text[start:stop], stop):
            start, stop = later  # key=PASSWORD value=…
        elif name.lower() in _WHOLE or (sign == ":" and level is Suspicion.SECRET and text[position - 1] in " \t"):
            start, stop = self._clause(start, stop)
        elif before in ("?", "&", ";") and "&" in text[start:stop]:
            stop = text.index("&", start)
        yield from self._accepted(level, name, (start, stop))

    def _value_of(self, named: str, position: int) -> Span | None:
        """Return the value further on in the line, where what stands behind a name is a name itself.

        Of a variable that is none for a secret, it is empty: neither the variable's name nor its value is one.
        """
        level = level_of(named)
        if not (level or _VARIABLE.fullmatch(named)) or not (
            later := _LATER.match(self.text, position, self._line.end)
        ):
            return None
        if level >= Suspicion.KEY or (level and _VARIABLE.fullmatch(named)):
            return self._line.value(later.end())
        return (position, position) if _VARIABLE.fullmatch(named) else None

    def _clause(self, start: int, stop: int) -> Span:
        """Return a value with the words behind it, where nothing puts it in quotes."""
        text, line = self.text, self._line
        if (stop < line.end and text[stop] in "\"'\\") or line.inside(start):
            return start, stop
        return start, max(stop, start + len(text[start : min(line.end, start + _LONGEST_LIST)].rstrip(" \t\"';,")))

    def _apart(self, level: Suspicion, name: str, position: int) -> Iterator[Span]:
        """Yield the value behind blanks, and behind the words that say of which form it is or whose."""
        digests, told, said = 0, False, False
        prose = self._is_said(level, name, position)
        plain: Span | None = None
        words = self._line.words(position)
        for word in islice(words, _MOST_WORDS):
            text = self.text[word.start : word.stop]
            lowered = text.lower()
            if not word.quoted and word.more:
                told = told or lowered in _TELL or lowered.endswith(":")
                if lowered in QUALIFIERS and level_of(lowered) >= Suspicion.KEY:
                    return  # a name itself, which is looked at in its turn
                if lowered.endswith(":") or lowered in QUALIFIERS or _NUMBER.fullmatch(lowered):
                    prose = prose and (lowered in _TELL or lowered.endswith(":") or lowered.isdigit())
                    continue
                if is_algorithm(lowered):
                    digests += 1
                    continue
                if lowered in TAKES_WORD:
                    prose = False
                    next(words, None)
                    continue
            if not word.quoted and (lowered in ROLES or lowered[:1] in "{}[]();|&=" or _MEMBER.match(lowered)):
                break
            if digests and level is Suspicion.HINT:
                level = Suspicion.KEY
            elif told and level is Suspicion.KEY:
                level = Suspicion.SECRET
            bare = "" if word.quoted else lowered.strip(".,;!?")
            prose = prose and not (bare and is_harmless(bare))
            if bare and bare.isalpha() and not told and not self._strict and self._spoken:
                plain = plain or (word.start, word.stop)  # in what people wrote, a later word may look more like one
                said = said or prose
                continue
            if plain and not any(map(str.isdigit, text)) and not looks_secret(text):
                break
            chosen = bool(bare) and prose and _SAID.fullmatch(bare) is not None
            yield from self._accepted(level, name, (word.start, word.stop), apart=not word.quoted and not chosen)
            return
        if plain:
            yield from self._accepted(level, name, plain, apart=not said)

    def _is_said(self, level: Suspicion, name: str, position: int) -> bool:
        """Return whether behind a name in prose a plain word is a secret: what the name is for is said."""
        if not (self._strict or self._spoken or self._quoted) or level < Suspicion.KEY:
            return False
        if is_spoken(name):
            return True
        before = self.text[max(self._line.start, position - len(name) - _FAR) : position].lower()
        return not OF_LOGINS.isdisjoint(_BEFORE.findall(before)[-3:-1])

    def _accepted(self, level: Suspicion, name: str, span: Span, *, apart: bool = False) -> Iterator[Span]:
        """Yield a value, if it can be a secret; ``apart``: nothing but blanks says that it belongs to the name."""
        value = self.text[slice(*span)].strip()
        if not value.strip("-=_.#~/|") or _MASKED.match(value) or _BY_PAIRS.fullmatch(value):
            return
        if value.isdigit() and len(value) < (3 if level is Suspicion.SECRET else 4):
            return
        bare = value.rstrip(".!?")
        if is_option(bare) and not (level is Suspicion.SECRET and bare != bare.lower()):
            return
        known = name.lower() in _PLAIN or ("auth" in name.lower() and _PAIR.fullmatch(bare) is not None)
        if level > Suspicion.HINT and any(map(str.isdigit, bare)):
            known = known or len(bare) >= (4 if level is Suspicion.SECRET else 8)
        needs_look = apart and (self._strict or (level is Suspicion.KEY and (self._spoken or self._quoted)))
        if known or not (level is Suspicion.HINT or needs_look) or any(map(looks_secret, bare.split())):
            yield span
