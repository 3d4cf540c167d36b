"""Changes that mean the same on the device: spelling, order, terminal leftovers, bait. No finding, complete, exit 0."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tests.compare.site import (
    DRIFTS,
    PLATFORM_SITES,
    SITES,
    Site,
    case_id,
    cases,
    changed,
    conforming,
    device_of,
    unseen,
)
from tests.effort import share

CASES = cases(DRIFTS / "harmless.yaml", *sorted(DRIFTS.glob("*/harmless.yaml")))
UCI_FILES = ("network", "wireless", "dhcp", "system", "dropbear", "uhttpd")


def dialect_of(site: Site, name: str) -> str:
    return site.plan.data.devices[device_of(name)].platform


def rewritten(site: Site, change: Callable[[str, str, str], str | bytes]) -> Site:
    """Return a site with every file passed through ``change(text, dialect, device)``."""
    for name in site.files:
        site = site.having(name, change(site.text(name), dialect_of(site, name), device_of(name)))
    return site


def conforms(site: Site) -> None:
    report = site.audited()
    assert [(f.device, f.setting, f.expected, f.observed) for f in report.findings] == []
    assert [(d.name, d.outcome, d.reason, d.not_understood) for d in report.devices if not d.complete] == []
    assert unseen(report) == []
    assert (report.verdict, report.complete, report.exit_code) == ("conforming", True, 0)


@pytest.mark.parametrize("case", share(CASES, case_id, quick=4), ids=case_id)
def test_a_harmless_change_gives_no_finding(case):
    conforms(changed(case)[0])


def spread(text: str, between: str) -> str:
    """Return a text with a line put in front of every line but those that a backslash carries on from the one above."""
    return re.sub(r"(?m)(?<!\\\n)^", lambda match: between if match.start() < len(text) else "", text)


def with_prompts(text: str, dialect: str, device: str) -> str:
    prompt, command = {
        "cisco_ios": (f"{device}#", "show running-config"),
        "mikrotik_routeros": (f"[admin@{device}] > ", "/export"),
        "openwrt": (f"root@{device}:~# ", "cat /etc/config/network"),
    }[dialect]
    return f"{prompt}{command}\n{text}\n{prompt}\n"


def with_pager(text: str, dialect: str, device: str) -> str:
    """What a terminal of 24 lines leaves behind: the pager's words and the backspaces that wipe them out."""
    pager = {"cisco_ios": " --More-- ", "mikrotik_routeros": "-- [Q quit|D dump|down]"}.get(dialect, "")
    wiped = pager + "\x08" * len(pager) + " " * len(pager) + "\x08" * len(pager)
    lines = text.split("\n")
    return "\n".join(wiped + line if number % 23 == 22 else line for number, line in enumerate(lines))


def with_log_messages(text: str, dialect: str, device: str) -> str:
    message = {
        "cisco_ios": "*Nov 20 09:12:44.123: %LINK-3-UPDOWN: Interface GigabitEthernet1/0/9, changed state to down\n",
        "mikrotik_routeros": "nov/20/2026 09:12:44 system,error,critical login failure for user admin via ssh\n",
        "openwrt": "",
    }[dialect]
    return re.sub(r"(?m)(?<!\\\n)^(?=.)(?=[^\n]*(?:vlan|address))", lambda _: message, text)


INTERFACE = r"(?m)^interface .*\n(?: .*\n)*"


def reversed_sections(text: str, dialect: str, device: str) -> str:
    """All sections in the opposite order; of IOS only the interfaces in front of its banner."""
    if dialect == "cisco_ios":
        text, banner, rest = text.partition("\nbanner ")
        turned = iter(reversed(re.findall(INTERFACE, text)))
        return re.sub(INTERFACE, lambda _: next(turned), text) + banner + rest
    start = r"(?m)^(?=/)" if dialect == "mikrotik_routeros" else r"(?m)^(?=config )"
    head, *sections = re.split(start, text)
    return head + "".join(section if section.endswith("\n") else f"{section}\n" for section in reversed(sections))


def reversed_lines(text: str, dialect: str, device: str) -> str:
    """The lines of every block in the opposite order; an export's statements within their section."""
    if dialect == "mikrotik_routeros":
        whole = text.replace("\\\n    ", "")
        return re.sub(r"(?m)(?:^(?:add|set) .*\n)+", lambda m: "".join(reversed(m[0].splitlines(True))), whole)
    inside = r"(?m)(?:^\t.*\n)+" if dialect == "openwrt" else r"(?m)(?<=^interface )(?P<name>.*\n)(?P<body>(?: .*\n)+)"
    return re.sub(inside, turned_body, text)


def turned_body(match: re.Match[str]) -> str:
    parts = match.groupdict()
    body = parts.get("body") or match[0]
    return (parts.get("name") or "") + "".join(reversed(body.splitlines(keepends=True)))


def reversed_words(text: str, dialect: str, device: str) -> str:
    """The words of an export's statements in the opposite order, what they find or name first kept in its place."""
    if dialect != "mikrotik_routeros":
        return text

    def turned(match: re.Match[str]) -> str:
        words = re.findall(r'[\w.-]+=(?:"(?:[^"\\]|\\.)*"|\S+)', match["words"])
        return match["verb"] + " ".join(reversed(words)) + "\n"

    whole = text.replace("\\\n    ", "")
    relative = r"(?m)^(?P<verb>(?:add|set (?:\[.*?\] |\w[\w-]* (?!=))?) *)(?P<words>(?:[\w-]+=[^\n]*)?)\n"
    return re.sub(relative, lambda m: turned(m) if "=." not in m["words"] and " ." not in m["words"] else m[0], whole)


def unwrapped(text: str, dialect: str, device: str) -> str:
    return text.replace("\\\n    ", "") if dialect == "mikrotik_routeros" else text


def narrow(text: str, dialect: str, device: str) -> str:
    """An export that a narrow terminal wrapped at every blank between words."""
    if dialect != "mikrotik_routeros":
        return text
    whole = text.replace("\\\n    ", "")
    blank = re.compile(r'(?m)^#.*$|"(?:[^"\\]|\\.)*"|\[.*?\]|(?P<blank>(?<=\S) (?=\S))')
    return blank.sub(lambda m: " \\\n    " if m["blank"] else m[0], whole)


def terse(text: str, dialect: str, device: str) -> str:
    """An export with one statement a line, each with its whole path."""
    if dialect != "mikrotik_routeros":
        return text
    path, lines = "", []
    for line in text.replace("\\\n    ", "").split("\n"):
        if line.startswith("/") and not re.search(r" (add|set) ", line):
            path = line
        else:
            lines.append(f"{path} {line}" if re.match(r"(add|set) ", line) else line)
    return "\n".join(lines)


def quoted(text: str, dialect: str, device: str) -> str:
    """Every bare value in quotes."""
    if dialect == "mikrotik_routeros":
        return re.sub(
            r'(?<= )([\w.-]+=)([^\s"\\\[\]]+)(?= |$)', r'\1"\2"', text.replace("\\\n    ", ""), flags=re.MULTILINE
        )
    return text.replace("'", '"') if dialect == "openwrt" else text


REWRITINGS: dict[str, Callable[[str, str, str], str | bytes]] = {
    "lines end as on Windows": lambda text, *_: text.replace("\n", "\r\n"),
    "blanks at the ends of lines": lambda text, *_: (
        text.replace("\\\n", "\\\r").replace("\n", "   \n").replace("\r", "\n")
    ),
    "no end of line at the end": lambda text, *_: text.rstrip("\n"),
    "a mark of the byte order": lambda text, *_: b"\xef\xbb\xbf" + text.encode(),
    "UTF-16": lambda text, *_: text.encode("utf-16"),
    "blank lines in between": lambda text, *_: spread(text, "\n"),
    "comments in between": lambda text, dialect, _: spread(
        text, "! vlan 666\n" if dialect == "cisco_ios" else "# vlan 666\n"
    ),
    "colours of a terminal": lambda text, *_: spread(text, "\x1b[0m\x1b[K"),
    "a blank line below each": lambda text, *_: re.sub(r"(?<!\\)\n", "\n\n", text),
    "within fences": lambda text, *_: f"```\n{text}\n```\n",
    "prompts and the command": with_prompts,
    "what a pager leaves": with_pager,
    "log messages in between": with_log_messages,
    "sections in the opposite order": reversed_sections,
    "lines in the opposite order": reversed_lines,
    "words in the opposite order": reversed_words,
    "long lines": unwrapped,
    "a narrow terminal": narrow,
    "statements with their path": terse,
    "all values in quotes": quoted,
    "blanks for tabs": lambda text, *_: text.replace("\t", "    "),
    "deeper indentation": lambda text, dialect, _: re.sub(r"(?m)^ ", "    ", text) if dialect == "cisco_ios" else text,
}


FORMS_OF_FILES = (
    "lines end as on Windows",
    "blanks at the ends of lines",
    "no end of line at the end",
    "a mark of the byte order",
    "UTF-16",
    "a blank line below each",
    "within fences",
)
"""What may become of the file of any dialect."""


@pytest.mark.parametrize("site", PLATFORM_SITES)
def test_another_form_of_a_file_gives_no_finding(site):
    for form in share(FORMS_OF_FILES, lambda form: f"{site} {form}", quick=3):
        conforms(rewritten(conforming(site), REWRITINGS[form]))


@pytest.mark.parametrize("form", REWRITINGS)
def test_another_form_of_a_whole_capture_gives_no_finding(form):
    for site in share(SITES, lambda site: f"{form} {site}", quick=3):
        conforms(rewritten(conforming(site), REWRITINGS[form]))


def as_export(files: dict[str, str]) -> str:
    """All UCI files as ``uci export`` shows them, one behind the other."""
    return "\n".join(f"package {name}\n\n{text}" for name, text in files.items())


def as_show(files: dict[str, str]) -> str:
    """All UCI files as ``uci show`` shows them: one line an option."""
    lines = []
    for package, text in files.items():
        for number, section in enumerate(re.split(r"(?m)^config ", text)[1:]):
            head, *body = (line.strip() for line in section.strip().split("\n") if line.strip())
            kind, _, name = head.partition(" ")
            place = f"{package}.{name.strip(chr(39)) or f'@{kind}[{number}]'}"
            values: dict[str, list[str]] = {}
            for line in body:
                _, key, value = line.split(" ", 2)
                values.setdefault(key, []).append(value)
            lines += [f"{place}={kind}", *(f"{place}.{key}={' '.join(found)}" for key, found in values.items())]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("form", [as_export, as_show])
@pytest.mark.parametrize(
    ("name", "device"), [("quarry-road", "ap1"), ("fernhill-guesthouse", "barn"), ("tannery-studios", "fw1")]
)
def test_uci_files_in_one(form, name, device):
    site = conforming(name)
    files = {file: site.text(f"{device}/{file}") for file in UCI_FILES if f"{device}/{file}" in site.files}
    conforms(site.without(*site.files_of(device)).having(f"{device}.txt", form(files)))


@pytest.mark.parametrize("name", ["core1.log", "core1/a.txt"])
def test_configuration_and_listing_in_one_file(name):
    site = conforming("quarry-road")
    text = "".join(site.text(file) for file in site.files_of("core1"))
    conforms(site.without(*site.files_of("core1")).having(name, text))


def test_the_order_of_files_does_not_matter():
    for name in SITES:
        site = conforming(name)
        conforms(Site(site.plan, dict(reversed(site.files.items()))))
