"""The device that is read is the one that is planned: its address holds, what was reached is written down."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from auditor.app.capturing import Access, SiteCaptures, capture, saving_below
from auditor.capture.credentials import Credentials, Wallet
from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.live import Limits, Result
from auditor.capture.saving import RECORD
from auditor.cli import main
from auditor.errors import UsageError
from auditor.plan.loader import Plan, parse
from tests.capture.test_faults import ANSWERS
from tests.lab import openssh
from tests.lab.shells import PASSWORD, USER, Lab, Shell, closed_port, lab

ONCE = Limits(device_seconds=300, tries=1)


@pytest.fixture
def devices() -> Iterator[Lab]:
    with lab() as found:
        yield found


def text_of(site: str, **addresses: str) -> str:
    """Return a plan whose devices are at these addresses."""
    entries = ", ".join(f"{n}: {{role: core, platform: cisco_ios, address: '{a}'}}" for n, a in addresses.items())
    subnets = "{a: {vlan: 2, prefix: 10.0.0.0/24}}"
    return f"format: 1\nsite: Site {site}\nreference: {site}\nsubnets: {subnets}\ndevices: {{{entries}}}\n"


def plan_of(site: str, **addresses: str) -> Plan:
    return parse(f"{site}.yaml", text_of(site, **addresses).encode())


def unsaved(result: Result, why: str) -> None:
    """Fail where a capture could not be kept."""
    raise AssertionError((result.key, why))


def toured(home: Path, devices: Lab, config: str, *plans: Plan, **options: object) -> SiteCaptures:
    """Read sites with a configuration, and keep what they say below a folder with the plan's name."""
    (home / "config").write_text(config)
    (home / "known").write_text(devices.known_hosts)
    environment = {"AUDITOR_USER": USER, "AUDITOR_PASSWORD": PASSWORD}
    access = Access(home / "config", home / "known", environment=environment)
    done = saving_below({plan.file: home / plan.file for plan in plans}, lambda _: None, unsaved)
    return capture(plans, access, ONCE, done=done, **options)  # type: ignore[arg-type]


def told(home: Path, plan: Plan, device: str) -> dict[str, object]:
    found: dict[str, object] = json.loads((home / plan.file / device / RECORD).read_text())
    return found


def reason(captured_sites: SiteCaptures, plan: Plan, device: str) -> str:
    captured = captured_sites.of(plan).capture(device)
    assert isinstance(captured, NotCaptured), captured
    return captured.reason


def test_an_entry_by_the_bare_name_stands_for_no_device_of_two_sites(devices: Lab, tmp_path: Path):
    """One device stood for ``core1`` of both."""
    shell = Shell(answers=ANSWERS)
    plans = [plan_of("A", core1="127.0.0.1"), plan_of("B", core1="127.0.0.3")]
    config = f"Host core1\n HostName 127.0.0.1\n Port {devices.start(shell)}\nHost *\n Port {closed_port()}\n"
    captured_sites = toured(tmp_path, devices, config, *plans)
    assert len(captured_sites.failed) == 2
    assert all("no answer" in reason(captured_sites, plan, "core1") for plan in plans)
    assert shell.connections == 0


def test_two_sites_with_a_core1_each_reach_two_devices(devices: Lab, tmp_path: Path):
    shells = [Shell(answers={**ANSWERS, "show vlan brief": f"VLAN Name\n{n} site{n}\n"}) for n in (1, 2)]
    ports = [devices.start(shell) for shell in shells]
    plans = [plan_of("A", core1="192.0.2.1"), plan_of("B", core1="192.0.2.2")]
    config = (
        f"Host core1\n Port 1\n ProxyCommand x\nHost A-core1\n HostName 127.0.0.1\n Port {ports[0]}\n"
        f"Host 192.0.2.2\n HostName 127.0.0.1\n Port {ports[1]}\n"
    )
    toured(tmp_path, devices, config, *plans)
    assert [shell.sessions for shell in shells] == [1, 1]
    for number, plan in enumerate(plans):
        kept = (tmp_path / plan.file / "core1" / "show_vlan_brief.txt").read_text()
        assert f"site{number + 1}" in kept
        record = told(tmp_path, plan, "core1")
        assert record["address"] == f"192.0.2.{number + 1}"
        assert record["reached"] == {"host": "127.0.0.1", "port": ports[number], "jump_hosts": []}


def test_an_entry_by_the_bare_name_does_not_drop_the_planned_address(devices: Lab, tmp_path: Path):
    plan, shell = plan_of("A", core1="127.0.0.1"), Shell(answers=ANSWERS)
    port = devices.start(shell)
    captured_sites = toured(tmp_path, devices, f"Host core1\n HostName 192.0.2.7\n Port {port}\n", plan)
    captured = captured_sites.of(plan).capture("core1")
    assert isinstance(captured, Captured)
    record = told(tmp_path, plan, "core1")
    assert record["reached"] == {"host": "127.0.0.1", "port": port, "jump_hosts": []}
    for notes in (captured.notes, record["notes"]):
        assert f"{tmp_path}/config:2 was not used" in str(notes)


def test_a_device_that_is_not_read_tells_of_a_host_name_that_was_not_used(devices: Lab, tmp_path: Path):
    plan = plan_of("A", core1="127.0.0.1")
    captured_sites = toured(tmp_path, devices, f"Host core1\n HostName 192.0.2.7\n Port {closed_port()}\n", plan)
    assert "no answer" in reason(captured_sites, plan, "core1")
    assert "config:2 was not used" in reason(captured_sites, plan, "core1")


def test_two_devices_are_not_read_at_one_place(devices: Lab, tmp_path: Path):
    """``Host *`` with a ``HostName`` counts, as with ssh; it cannot stand for two devices."""
    shell = Shell(answers=ANSWERS)
    plan, other = plan_of("A", core1="192.0.2.1", core2="192.0.2.2"), plan_of("B", core1="192.0.2.3")
    config = f"Host *\n HostName 127.0.0.1\n Port {devices.start(shell)}\n"
    captured_sites = toured(tmp_path, devices, config, plan, other)
    assert shell.connections == 0
    assert len(captured_sites.failed) == len(captured_sites.results) == 3
    assert "core2 of A, core1 of B" in reason(captured_sites, plan, "core1")
    assert "core1 of A, core2 of A" in reason(captured_sites, other, "core1")
    alone = toured(tmp_path, devices, config, plan, only=["core1"])
    assert isinstance(alone.of(plan).capture("core1"), Captured)


def test_one_address_in_two_sites_is_one_place_unless_a_jump_host_is_on_the_way(devices: Lab, tmp_path: Path):
    plans = [plan_of("A", gw1="127.0.0.1"), plan_of("B", fw1="127.0.0.1")]
    captured_sites = toured(tmp_path, devices, f"Port {closed_port()}\n", *plans)
    assert "fw1 of B" in reason(captured_sites, plans[0], "gw1")
    config = f"Port {closed_port()}\nHost B-fw1\n ProxyJump gate\nHost gate\n HostName 127.0.0.1\n"
    captured_sites = toured(tmp_path, devices, config, *plans)
    assert "no answer" in reason(captured_sites, plans[0], "gw1")
    assert "jump host gate" in reason(captured_sites, plans[1], "fw1")


def test_two_plans_of_one_site_read_the_same_device(devices: Lab, tmp_path: Path):
    shell = Shell(answers=ANSWERS)
    text = text_of("A", core1="127.0.0.1").encode()
    plans = [parse("before.yaml", text), parse("after.yaml", text)]
    captured_sites = toured(tmp_path, devices, f"Port {devices.start(shell)}\n", *plans)
    assert (captured_sites.failed, shell.sessions) == ([], 2)


@pytest.mark.skipif(not Path(openssh.SSHD).exists(), reason="no OpenSSH server is installed")
def test_the_jump_hosts_are_written_down(devices: Lab, tmp_path: Path):
    plan, port = plan_of("A", core1="127.0.0.1"), devices.start(Shell(answers=ANSWERS))
    with openssh.sshd(tmp_path / "jump") as jump:
        devices.known_hosts += jump.known_host
        environment = {
            "AUDITOR_USER_CORE1": USER,
            "AUDITOR_PASSWORD_CORE1": PASSWORD,
            "AUDITOR_USER_GATE": jump.user,
            "AUDITOR_KEY_GATE": str(jump.key_file),
        }
        (tmp_path / "known").write_text(devices.known_hosts)
        (tmp_path / "config").write_text(
            f"Host 127.0.0.1\n Port {port}\n ProxyJump gate\nHost gate\n HostName 127.0.0.1\n Port {jump.port}\n"
        )
        access = Access(tmp_path / "config", tmp_path / "known", environment=environment)
        capture([plan], access, ONCE, done=saving_below({plan.file: tmp_path / plan.file}, lambda _: None, unsaved))
    assert told(tmp_path, plan, "core1")["reached"] == {
        "host": "127.0.0.1",
        "port": port,
        "jump_hosts": [f"gate (127.0.0.1:{jump.port})"],
    }


REFUSED = {
    "a command on the way": ("Host *\n ProxyCommand touch {mark}\n", ":2: ProxyCommand is not carried out"),
    "a condition": ("Match exec 'touch {mark}'\n User x\n", ":1: Match is not carried out"),
    "canonical names": ("CanonicalizeHostname yes\n", ":1: CanonicalizeHostname is not carried out"),
    "a broken port": ("Host *\n Port twenty\n", ":2: Port is a number"),
    "an open quote": ('User "x\n', ":1: a quote"),
}


@pytest.mark.parametrize(("config", "wanted"), REFUSED.values(), ids=REFUSED)
def test_the_command_ends_with_2_before_anything_is_connected_to(
    config: str, wanted: str, devices: Lab, tmp_path: Path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("AUDITOR_PASSWORD", PASSWORD)
    shell, mark = Shell(answers=ANSWERS), tmp_path / "was run"
    Path("good.yaml").write_text(text_of("A", core1="127.0.0.1"))
    Path("bad.yaml").write_text(text_of("B", core2="192.0.2.2"))
    sure = f"Host 127.0.0.1\n Port {devices.start(shell)}\nHost 192.0.2.2\n"
    Path("config").write_text(config.format(mark=mark).replace("Host *\n", sure))
    line = wanted.replace(":2:", ":4:")
    with pytest.raises(SystemExit) as ended:
        main(["audit", "good.yaml", "bad.yaml", "--ssh-config", "config", "--known-hosts", "known", "--no-history"])
    shown = capsys.readouterr()
    assert ended.value.code == 2
    assert shown.err.startswith(f"auditor: config{line}"), shown.err
    assert (shell.connections, mark.exists()) == (0, False)


def test_a_match_that_excludes_every_target_is_passed_over(devices: Lab, tmp_path: Path):
    plan, shell = plan_of("A", core1="127.0.0.1"), Shell(answers=ANSWERS)
    config = (
        f"Match host 192.0.2.* exec 'touch {tmp_path}/run'\n ProxyCommand x\nHost *\n Port {devices.start(shell)}\n"
    )
    captured_sites = toured(tmp_path, devices, f"{config} ServerAliveInterval 60\n StrictHostKeyChecking no\n", plan)
    assert captured_sites.failed == []
    assert not (tmp_path / "run").exists()


def test_devices_that_are_left_out_do_not_matter(devices: Lab, tmp_path: Path):
    plan, shell = plan_of("A", core1="127.0.0.1", core2="192.0.2.2"), Shell(answers=ANSWERS)
    config = f"Host core2\n ProxyCommand x\nHost *\n Port {devices.start(shell)}\n"
    captured_sites = toured(tmp_path, devices, config, plan, only=["core1"])
    assert isinstance(captured_sites.of(plan).capture("core1"), Captured)
    with pytest.raises(UsageError, match="ProxyCommand"):
        toured(tmp_path, devices, config, plan)


def test_a_configuration_that_is_named_has_to_be_there(tmp_path: Path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    Path("plan.yaml").write_text(text_of("A", core1="127.0.0.1"))
    for name, why in (("none", "no such file"), (".", "this is a folder")):
        with pytest.raises(SystemExit) as ended:
            main(["capture", "plan.yaml", "--out", "x", "--ssh-config", name])
        assert ended.value.code == 2
        assert why in capsys.readouterr().err


def test_all_key_files_of_the_configuration_are_tried_that_are_there(tmp_path: Path):
    for name in ("one", "two"):
        (tmp_path / name).write_text("")
    files = [str(tmp_path / name) for name in ("none", "one", "two")]
    wallet = Wallet("x", {"AUDITOR_USER": "u"})
    assert wallet.of("core1", key_files=files).keys == files[1:]
    assert wallet.of("core1", key_files=files[:1]).keys == files[:1]
    assert Wallet("x", {"AUDITOR_USER": "u", "AUDITOR_KEY": "/k"}).of("core1", key_files=files).keys == ["/k"]
    assert Credentials("u").keys == []
    assert wallet.of("core1", agent=False).agent is False
