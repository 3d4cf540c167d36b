"""The user's SSH configuration is carried out as ssh does, or refused by name with file and line; never ignored."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
from pathlib import Path

import pytest

from auditor.capture.credentials import Wallet
from auditor.capture.routes import Routes
from auditor.capture.sshconfig import keywords
from auditor.capture.sshconfig.lookup import Configuration, HostSettings, Names
from auditor.capture.sshconfig.patterns import fits
from auditor.capture.sshconfig.syntax import split
from auditor.errors import UsageError

CORE1 = Names(("10.40.99.2", "QRC-01-core1"), ("core1",), "core1 (10.40.99.2)")
SSH = shutil.which("ssh")


def said(home: Path, text: str | bytes, names: Names = CORE1) -> HostSettings:
    """Return what a configuration says."""
    file = home / "config"
    file.write_bytes(text.encode() if isinstance(text, str) else text)
    return Configuration(file, home).of(names)


@pytest.mark.parametrize(
    ("text", "host", "port"),
    [
        ("", "10.40.99.2", 22),
        ("Host 10.40.99.2\n HostName 192.0.2.1\n Port 2201", "192.0.2.1", 2201),
        ("Host 10.40.99.*\n HostName 192.0.2.1", "192.0.2.1", 22),
        ("Host 10.40.99.? !10.40.99.2\n HostName 192.0.2.1", "10.40.99.2", 22),
        ("Host QRC-01-core1\n HostName gw.example\n Port 2201", "gw.example", 2201),
        ("Host QRC-01-*\n HostName %h.example", "QRC-01-core1.example", 22),
        ("Host QRC-01-core1\n Port 2201", "10.40.99.2", 2201),
        ("Host *\n HostName 192.0.2.1", "192.0.2.1", 22),
        ("HostName 192.0.2.1", "192.0.2.1", 22),
        ("Host *\n HostName %h\n Port 2201", "10.40.99.2", 2201),
        ("Host core1\n HostName 192.0.2.1\n Port 2201", "10.40.99.2", 2201),
        ("Host core*\n HostName 192.0.2.1\n Port 2201", "10.40.99.2", 2201),
        ("Host core1 10.40.99.2\n HostName 192.0.2.1", "192.0.2.1", 22),
        ("Host core1\n HostName 192.0.2.1\nHost 10.*\n HostName 192.0.2.7", "192.0.2.7", 22),
        ("Host * !core1\n Port 2201", "10.40.99.2", 22),
        ("Host * !QRC-01-*\n Port 2201", "10.40.99.2", 22),
        ("Host core2 QRC-02-core1 10.40.99.20\n HostName 192.0.2.1\n Port 1", "10.40.99.2", 22),
    ],
)
def test_where_a_device_is(text: str, host: str, port: int, tmp_path: Path):
    found = said(tmp_path, text)
    assert (found.host, found.port) == (host, port)


def test_an_entry_by_the_bare_name_says_how_to_get_there_alone(tmp_path: Path):
    found = said(
        tmp_path, "Host core1\n HostName 192.0.2.1\n Port 2201\n User tech\n IdentityFile /k\n ProxyJump a,b@c:3\n"
    )
    assert (found.host, found.port, found.user, found.key_files) == ("10.40.99.2", 2201, "tech", ["/k"])
    assert found.jumps == ["a", "b@c:3"]
    assert f"{tmp_path}/config:2" in found.remarks[0]
    assert "10.40.99.2" in found.remarks[0]
    assert said(tmp_path, "Host core1\n HostName 10.40.99.2").remarks == []
    several = Names(CORE1.sure, (), CORE1.shown)
    found = said(tmp_path, "Host core1\n HostName 192.0.2.1\n Port 2201\n User tech\n ProxyCommand x\n", several)
    assert (found.host, found.port, found.user, found.remarks) == ("10.40.99.2", 22, "", [])


@pytest.mark.parametrize(
    ("text", "user"),
    [
        ("user=tech", "tech"),
        ("User = tech # who", "tech"),
        ("\t uSER\t=\ttech \r", "tech"),
        ('User "tech nician"', "tech nician"),
        ("User 'tech'", "tech"),
        ("User DOMAIN\\tech", "DOMAIN\\tech"),
        ("User te#ch", "te#ch"),
        ("User a\nUser b", "a"),
        ("#User a\n\n # User b\nHost x\nUser c\nhost *\nUser d", "d"),
        ('Host "10.40.99.2"\nUser a', "a"),
        ("Host = 10.40.99.2\nUser a", "a"),
    ],
)
def test_how_lines_are_written(text: str, user: str, tmp_path: Path):
    assert said(tmp_path, text).user == user


def test_key_files_add_up_and_their_tokens_are_carried_out(tmp_path: Path):
    text = "Host *\n IdentityFile ~/.ssh/a\n HostName gw.example\n Port 7\n User tech\n IdentityFile none\n"
    text += " IdentityFile %d/%h-%p-%r-100%%\n IdentityFile ~/.ssh/a\n"
    assert said(tmp_path, text).key_files == ["~/.ssh/a", f"{tmp_path}/gw.example-7-tech-100%"]


@pytest.mark.parametrize("passed", sorted(keywords.PASSED_OVER))
def test_what_changes_neither_device_nor_trust_nor_user_is_passed_over(passed: str, tmp_path: Path):
    found = said(tmp_path, f"Host *\n {passed.upper()} whatever is said here\n Port 2201\n")
    assert (found.host, found.port, found.agent) == ("10.40.99.2", 2201, True)


def test_each_keyword_that_is_passed_over_has_a_reason_of_its_own_list():
    everything = [word for words in keywords._PASSED_OVER.values() for word in words.split()]
    assert len(everything) == len({word.lower() for word in everything}) == len(keywords.PASSED_OVER)
    assert all(len(reason.split()) > 3 for reason in keywords._PASSED_OVER)
    assert not set(keywords.PASSED_OVER) & {*keywords.ONLY_AS, *keywords.HINTS, "hostname", "port", "user", "proxyjump"}


REFUSED = {
    "ProxyCommand": "ssh -W %h:%p gate",
    "ProxyCommand ": "/usr/bin/nc -X 5 %h %p # none",
    "HostKeyAlias": "other",
    "UserKnownHostsFile": "~/.ssh/known_hosts_lab",
    "RevokedHostKeys": "/etc/revoked",
    "KnownHostsCommand": "/bin/keys",
    "CanonicalizeHostname": "yes",
    "BindAddress": "192.0.2.9",
    "BindInterface": "tun1",
    "IdentityAgent": "~/agent.sock",
    "CertificateFile": "~/cert.pub",
    "PKCS11Provider": "/usr/lib/token.so",
    "SmartcardDevice": "0",
    "SecurityKeyProvider": "/usr/lib/sk.so",
    "RefuseConnection": "closed",
    "Frobnicate": "yes",
    "Prot\u00f6col": "2",
    "X\x1b[2J": "y",
}


@pytest.mark.parametrize("keyword", REFUSED)
def test_what_is_not_carried_out_is_refused_where_it_may_be_about_a_target(keyword: str, tmp_path: Path):
    for entry in ("Host *", "Host 10.40.*", "Host QRC-01-core1", "Host core1", "# all"):
        with pytest.raises(UsageError) as told:
            said(tmp_path, f"Port 22\n{entry}\n {keyword} {REFUSED[keyword]}\n")
        message = str(told.value)
        assert message.startswith(f"{tmp_path}/config:3: ")
        assert "core1 (10.40.99.2)" in message
        assert "--ssh-config" in message
        assert message.isprintable()
        if keyword.isascii() and keyword.isprintable():
            assert keyword.strip() in message
    assert said(tmp_path, f"Host core2 10.40.99.20\n {keyword} {REFUSED[keyword]}\nHost *\n Port 7\n").port == 7


def test_the_values_that_change_nothing_are_passed_over(tmp_path: Path):
    for keyword, values in keywords.ONLY_AS.items():
        for value in (*values, values[0].upper()):
            said(tmp_path, f"{keyword} {value}")
    assert said(tmp_path, "IdentityAgent none\nIdentityAgent SSH_AUTH_SOCK").agent is False
    assert said(tmp_path, "IdentityAgent SSH_AUTH_SOCK\nIdentityAgent none").agent is True


def test_what_ssh_does_not_know_may_be_named_so(tmp_path: Path):
    assert said(tmp_path, "IgnoreUnknown Frob*,x\nFrobnicate yes\nPort 7").port == 7
    for text in (
        "Frobnicate yes\nIgnoreUnknown Frob*",
        "IgnoreUnknown *\nHostKeyAlias x",
        "IgnoreUnknown *\nMatch all",
    ):
        with pytest.raises(UsageError):
            said(tmp_path, text)


@pytest.mark.parametrize(
    ("text", "jumps"),
    [
        ("ProxyCommand none\nProxyJump b", []),
        ("ProxyJump b\nProxyCommand nc %h", ["b"]),
        ("ProxyJump none", []),
        ("ProxyJump none\nProxyJump b", []),
        ("ProxyCommand none\nProxyCommand nc", []),
        ("ProxyJump a\nProxyJump b", ["a"]),
    ],
)
def test_the_first_of_jump_and_command_holds(text: str, jumps: list[str], tmp_path: Path):
    assert said(tmp_path, text).jumps == jumps


APPLYING = [
    "all",
    "exec true",
    'exec "touch {mark}"',
    "!exec false",
    "user root",
    "localuser nobody",
    "final",
    "canonical",
    "host 10.40.*",
    "host *,!x",
    "host QRC-01-core1",
    "host core1",
    "host=10.40.99.2",
    "host = 10.40.99.2",
    "originalhost 10.40.99.2 user x",
    "!host 192.0.2.*",
    "!host core1,core2",
    "tagged x",
    "localnetwork 192.0.2.0/24",
    'exec "test x" exec host other',
    'exec="x host other"',
    "",
    "frobnicate",
    "host",
]
EXCLUDED = [
    "host other",
    "host 192.0.2.*",
    "host 10.40.*,!10.40.99.2,!core1,!QRC-*",
    "originalhost other exec true",
    "user x host other",
    "!host *",
    "!host 10.*,core*,QRC*",
    "host=other exec=true",
    "host other frobnicate x",
    "HOST other",
    "!ORIGINALHOST *",
    "all host other",
    'exec "touch {mark}" host other',
]


@pytest.mark.parametrize("criteria", APPLYING)
def test_a_match_that_may_be_about_a_target_is_refused(criteria: str, tmp_path: Path):
    mark = tmp_path / "was run"
    with pytest.raises(UsageError, match=r"config:2: Match is not carried out.* core1 \(10\.40\.99\.2\).*Host entry"):
        said(tmp_path, f"Port 7\nMatch {criteria.format(mark=mark)}\n Port 8")
    assert not mark.exists()


@pytest.mark.parametrize("criteria", EXCLUDED)
def test_a_match_that_excludes_all_targets_is_passed_over(criteria: str, tmp_path: Path):
    mark = tmp_path / "was run"
    text = f"Match {criteria.format(mark=mark)}\n Port 8\n ProxyCommand x\n Frobnicate\nHost *\n Port 7"
    assert said(tmp_path, text).port == 7
    assert not mark.exists()


def test_a_match_about_the_host_name_that_was_set_before_it_is_refused(tmp_path: Path):
    """ssh compares with the HostName that holds so far."""
    with pytest.raises(UsageError, match="Match"):
        said(tmp_path, "Host 10.*\n HostName gw.example\nMatch host *.example\n Port 8")


def test_included_files(tmp_path: Path):
    ssh = tmp_path / ".ssh"
    (ssh / "conf.d" / "folder").mkdir(parents=True)
    (ssh / "conf.d" / "b").write_text("Port 2\nHost 10.40.99.2\n User b\n Include deeper\n")
    (ssh / "conf.d" / "a").write_text("Host other\n Port 1\n")
    (ssh / "deeper").write_text("IdentityFile /deep\n")
    (tmp_path / "abs").write_text("Host *\n HostName 192.0.2.1\n")
    (ssh / "bad").write_text("ProxyCommand x\n")
    found = said(tmp_path, f"Include conf.d/*\nInclude nothing-there {tmp_path}/ab?\nHost other\n Include bad\n")
    assert (found.host, found.port, found.user, found.key_files) == ("192.0.2.1", 2, "b", ["/deep"])
    with pytest.raises(UsageError, match=rf"^{ssh}/bad:1: ProxyCommand"):
        said(tmp_path, "Include bad\n")
    (ssh / "round").write_text("Include round\n")
    for text in ("Include round", "Include", "Include ${HOME}/x", "Include %d/x"):
        with pytest.raises(UsageError, match=r":1: Include "):
            said(tmp_path, text)


def test_an_included_file_ends_no_entry_of_the_one_around_it(tmp_path: Path):
    (tmp_path / ".ssh").mkdir()
    (tmp_path / ".ssh" / "x").write_text("Host other\n")
    assert said(tmp_path, "Host 10.*\n Include x\n Port 7\n").port == 7


@pytest.mark.parametrize(
    "text",
    [
        "Port",
        "Port 0",
        "Port 65536",
        "Port ssh",
        "Port -1",
        "Port 22 23",
        "Port \u0662\u0662",
        "Port 99999999999999999999",
        "HostName",
        "HostName a b",
        'HostName ""',
        'HostName "a b"',
        "HostName -oProxyCommand=x",
        "HostName %n",
        "HostName %",
        "HostName a\x1b[2Jb",
        "HostName a\x00b",
        "HostName a\u2028b",
        b"HostName b\xfcro",
        "User %u",
        "User a\x7f",
        "IdentityFile %k",
        "IdentityFile ${HOME}/x",
        "IdentityFile",
        "ProxyJump %h",
        "ProxyJump a b",
        "Host",
        'Host ""',
        'User "a',
        "User 'a",
        "= a",
        '"User" a',
        'User"a"',
    ],
)
def test_what_is_wrong_is_told_with_file_and_line(text: str | bytes, tmp_path: Path):
    data = b"# first\n" + (text.encode() if isinstance(text, str) else text)
    with pytest.raises(UsageError, match=rf"^{tmp_path}/config:2: ") as told:
        said(tmp_path, data)
    assert str(told.value).encode().decode().isprintable()


def test_other_letters_hurt_nobody_where_they_say_nothing(tmp_path: Path):
    text = b"# B\xfcro\nHost caf\xe9 *\n Port 7\nHost \xff\xfe\n Port 8\n"
    assert said(tmp_path, text).port == 7


def test_a_file_that_cannot_be_read_is_told_by_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    with pytest.raises(UsageError, match="this is a folder"):
        Configuration(tmp_path).of(CORE1)
    (tmp_path / "large").write_bytes(b"#" * 2_000_000)
    with pytest.raises(UsageError, match="large: this is larger"):
        Configuration(tmp_path / "large").of(CORE1)
    (tmp_path / "config").write_text("")

    def denied(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "open", denied)
    with pytest.raises(UsageError, match="config: the SSH configuration cannot be read: Permission denied"):
        Configuration(tmp_path / "config").of(CORE1)
    assert Configuration(tmp_path / "none").of(CORE1).host == "10.40.99.2"
    assert Configuration(None).of(CORE1).host == "10.40.99.2"


def hops(home: Path, text: str) -> list[tuple[str, str, int, str]]:
    """Return the jump hosts on the way to a device."""
    (home / "config").write_text(text)
    found = Routes(Configuration(home / "config", home), Wallet("QRC-01", {})).to("core1", CORE1)
    return [(hop.name, hop.host, hop.port, hop.credentials.user) for hop in found.hops]


def test_jump_hosts_have_entries_of_their_own(tmp_path: Path):
    text = "Host 10.*\n ProxyJump ssh://me@gate:7,[2001:db8::1]:8,inner\nHost gate\n HostName 192.0.2.1\n"
    text += "Host 2001:db8::1\n User six\nHost inner\n User in\n Port 9\n ProxyJump ignored\n ProxyCommand ignored\n"
    assert hops(tmp_path, text) == [
        ("gate", "192.0.2.1", 7, "me"),
        ("2001:db8::1", "2001:db8::1", 8, "six"),
        ("inner", "inner", 9, "in"),
    ]


def test_the_first_jump_host_may_have_one_before_it(tmp_path: Path):
    text = "User u\nHost 10.*\n ProxyJump b,c\nHost b\n ProxyJump a\nHost c\n ProxyJump x\n"
    assert [hop[0] for hop in hops(tmp_path, text)] == ["a", "b", "c"]


@pytest.mark.parametrize(
    "text",
    [
        "Host *\n ProxyJump gate",
        "Host 10.*\n ProxyJump a\nHost a\n ProxyJump b\nHost b\n ProxyJump a",
        "Host 10.*\n ProxyJump a,,b",
        "Host 10.*\n ProxyJump a:99999",
        "Host 10.*\n ProxyJump a:b",
        "Host 10.*\n ProxyJump a\nHost a\n ProxyCommand x",
        "Host 10.*\n ProxyJump a\nMatch host a\n User x",
        "Host 10.*\n ProxyJump a\nHost a\n HostKeyAlias x",
        "Host 10.*\n ProxyJump a,b,c,d,e",
    ],
)
def test_a_way_that_cannot_be_gone_is_refused(text: str, tmp_path: Path):
    with pytest.raises(UsageError):
        hops(tmp_path, text)


def test_a_match_about_a_jump_host_alone_spares_a_device_that_does_not_use_it(tmp_path: Path):
    assert hops(tmp_path, "Match host gate\n User x\n") == []


@pytest.mark.parametrize(
    ("name", "pattern", "fitting"),
    [
        ("core1", "core1", True),
        ("core1", "Core1", False),
        ("core1", "core?", True),
        ("core1", "core1?", False),
        ("core1", "c*1", True),
        ("core1", "*", True),
        ("", "*", True),
        ("", "", True),
        ("core1", "", False),
        ("a" * 60, "*a" * 40 + "b", False),
        ("a.b", "a?b", True),
        ("[x]", "[x]", True),
    ],
)
def test_patterns(name: str, pattern: str, fitting: bool):
    assert fits(name, pattern) is fitting


def test_words():
    assert split(r"a 'b c' \"d\" e\ f # g") == ["a", "b c", '"d"', "e f"]
    assert split('a"b c"d ""') == ["ab cd", ""]
    assert split("'a") is None


PIECES = (
    "Host 10.40.99.2",
    "Host 10.40.* !10.40.99.2",
    "Host 10.40.99.? other",
    "Host other !*",
    "Host *",
    "Host 192.0.2.*",
    'hOsT "10.40.99.2"',
    "HostName 192.0.2.{n}",
    "HostName %h",
    "hostname=gw{n}.example",
    "Port {n}",
    "Port = 20{n}",
    "User tech{n}",
    'User "t {n}" # comment',
    "IdentityFile ~/.ssh/k{n}",
    "IdentityFile /keys/%h-{n}",
    "IdentityFile /keys/100%%",
    "ProxyJump gate{n}",
    "ProxyJump me@gate{n}:7,other",
    "ProxyJump none",
    "ProxyCommand none",
    "Compression yes",
    "ServerAliveInterval 6{n}",
    "Include inc{n}",
    "Match host other",
    "Match originalhost 192.0.2.* user x",
    "# Port 9",
    "",
)


@pytest.mark.skipif(SSH is None, reason="no OpenSSH client is installed")
def test_it_is_carried_out_as_ssh_does(tmp_path: Path):
    """Against ``ssh -G`` of OpenSSH, which prints what it makes of a configuration."""
    assert SSH is not None
    dice = random.Random(2027)
    ssh = tmp_path / ".ssh"
    ssh.mkdir()
    for round_ in range(60):
        for name in ("inc1", "inc2", "config"):
            lines = [dice.choice(PIECES).format(n=dice.randint(1, 3)) for _ in range(dice.randint(1, 9))]
            text = "\n".join(line for line in lines if name == "config" or "Include" not in line)
            (ssh / name).write_text(text.replace("Include inc", f"Include {ssh}/inc") + "\n")
        shown = subprocess.run(
            [SSH, "-G", "-F", ssh / "config", "10.40.99.2"],
            capture_output=True,
            text=True,
            check=True,
            stdin=subprocess.DEVNULL,
        ).stdout
        said: dict[str, list[str]] = {}
        for line in shown.splitlines():
            key, _, value = line.partition(" ")
            said.setdefault(key, []).append(value)
        found = Configuration(ssh / "config", tmp_path).of(Names(("10.40.99.2",)))
        context = (round_, (ssh / "config").read_text())
        assert found.host == said["hostname"][0], context
        assert str(found.port) == said["port"][0], context
        assert found.user in ("", said["user"][0]), context
        assert found.jumps == [hop for hop in said.get("proxyjump", ["none"])[0].split(",") if hop != "none"], context
        keys = [key.replace("%h", found.host).replace("%%", "%") for key in said.get("identityfile", [])]
        assert [*found.key_files] == [key for key in dict.fromkeys(keys) if "/k" in key], context
