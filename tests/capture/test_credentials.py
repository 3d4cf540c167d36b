"""Where user names and secrets come from, and that nothing but the allowed can be sent."""

from __future__ import annotations

from dataclasses import replace

import pytest

from auditor.app.capturing import Access, capture
from auditor.capture.allowlist import Allowlist
from auditor.capture.credentials import SERVICE, Credentials, Wallet
from auditor.capture.live import Limits
from auditor.errors import NotAllowedError
from auditor.plan.loader import parse
from auditor.platforms import catalogue
from tests.lab.shells import closed_port


@pytest.mark.parametrize(
    ("environment", "password"),
    [
        ({"AUDITOR_PASSWORD": "a"}, "a"),
        ({"AUDITOR_PASSWORD": "a", "AUDITOR_PASSWORD_CORE_1": "b"}, "b"),
        ({"AUDITOR_PASSWORD_CORE_1": "b", "AUDITOR_PASSWORD_QRC_01": "c"}, "c"),
        ({"AUDITOR_PASSWORD_QRC_01": "c", "AUDITOR_PASSWORD_QRC_01_CORE_1": "d"}, "d"),
        ({"AUDITOR_PASSWORD": ""}, None),
    ],
)
def test_the_most_particular_name_wins(environment, password):
    found = Wallet("QRC-01", environment).of("core-1", user="tech")
    assert (found.user, found.password) == ("tech", password)


def test_users_enable_secrets_and_keys_are_looked_up_alike():
    environment = {"AUDITOR_USER": "u", "AUDITOR_ENABLE_CORE1": "e", "AUDITOR_KEY": "/k", "AUDITOR_PASSWORD": "p"}
    found = Wallet("x", environment).of("core1", user="other", key_files=["/elsewhere"])
    assert found == Credentials("u", "p", "e", "/k")


def test_the_keyring_is_asked_by_site_and_device():
    asked = []

    def keyring(service: str, name: str) -> str | None:
        asked.append((service, name))
        return "kept" if name == "*" else None

    assert Wallet("QRC-01", {}, keyring=keyring).of("core1").password == "kept"
    assert asked == [(SERVICE, "QRC-01/core1"), (SERVICE, "QRC-01"), (SERVICE, "*")]


def test_a_person_is_asked_once_and_only_where_nothing_else_is_known():
    asked: list[str] = []

    def ask(prompt: str) -> str:
        asked.append(prompt)
        return "typed"

    wallet = Wallet("x", {"AUDITOR_USER": "u", "AUDITOR_PASSWORD_SW2": "known"}, ask=ask)
    assert [wallet.of(name).password for name in ("sw1", "sw2", "sw3")] == ["typed", "known", "typed"]
    assert asked == ["Password of u: "]
    assert wallet.of("sw4", key_files=["/key"]).password is None


def test_credentials_show_no_secret():
    shown = repr(Credentials("tech", "not-a-password", "not-an-enable"))
    assert "tech" in shown
    assert "not-a" not in shown


@pytest.mark.parametrize("name", catalogue.names())
def test_the_gate_lets_the_platform_s_own_lines_through_and_nothing_else(name: str):
    platform = catalogue.get(name)
    allowlist = Allowlist(platform)
    live = platform.live
    for line in (*platform.commands, *live.pager, *live.leave):
        for end in ("\n", "\r"):
            allowlist.at_prompt()
            allowlist.check(line + end)
    for line in (
        "",
        "configure terminal",
        "conf t",
        "reload",
        "show running-config\nreload",
        "write",
        " exit",
        "/system reset",
    ):
        allowlist.at_prompt()
        with pytest.raises(NotAllowedError) as told:
            allowlist.check(f"{line}\n")
        assert "reload" not in str(told.value)


def test_a_secret_passes_once_and_only_where_it_is_expected():
    allowlist = Allowlist(catalogue.get("cisco_ios"))
    with pytest.raises(NotAllowedError):
        allowlist.check("not-an-enable\n")
    allowlist.expect("not-an-enable")
    allowlist.check("not-an-enable\n")
    with pytest.raises(NotAllowedError):
        allowlist.check("not-an-enable\n")


@pytest.mark.parametrize("name", catalogue.names())
def test_no_platform_has_a_line_that_changes_something(name: str):
    """Common practice, no source: the first words of what changes a device or leaves its reading mode."""
    platform = catalogue.get(name)
    live = platform.live
    changing = ("conf", "set ", "write", "copy", "delete", "reload", "reset", "no ", "system", "commit", "edit", "add")
    harmless = ("set cli ", "no page")
    for line in (*platform.commands, *live.pager, *live.leave):
        assert not line.startswith(changing) or line.startswith(harmless), line


def test_many_devices_ask_a_person_once_before_anything_is_read(tmp_path):
    asked: list[str] = []

    def ask(prompt: str) -> str:
        asked.append(prompt)
        return "typed"

    access = Access(config=None, known_hosts=tmp_path / "known", environment={"AUDITOR_USER": "u"}, ask=ask)
    told: list[str] = []
    config = tmp_path / "config"
    config.write_text(f"Host 127.0.0.*\n  Port {closed_port()}\n")
    devices = ", ".join(f"sw{n}: {{role: access, platform: cisco_ios, address: 127.0.0.{n + 1}}}" for n in range(6))
    plan = parse(
        "plan.yaml",
        f"format: 1\nsite: x\nsubnets: {{a: {{vlan: 2, prefix: 10.0.0.0/24}}}}\ndevices: {{{devices}}}\n".encode(),
    )
    captured_sites = capture(
        [plan], replace(access, config=config), Limits(tries=1), done=lambda result: told.append(result.key[1])
    )
    assert asked == ["Password of u: "]
    assert sorted(told) == [f"sw{n}" for n in range(6)]
    assert len(captured_sites.failed) == 6
