"""Whole sites read live in the lab: the same findings as from saved captures, and the bytes that were sent."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from auditor import load_plan
from auditor.capture.saving import RECORD
from auditor.core.report import EXIT_CODES
from auditor.platforms import catalogue
from tests.checks import HANGS
from tests.compare.site import MIXED, NETWORKS, PASSPHRASES
from tests.conftest import ROOT
from tests.lab import openssh
from tests.lab.shells import ENABLE, PASSWORD, USER, Shell, lab

pytestmark = pytest.mark.slow

QUARRY = NETWORKS / "quarry-road"
needs_sshd = pytest.mark.skipif(not Path(openssh.SSHD).exists(), reason="no OpenSSH server is installed")


@dataclass
class LiveSite:
    """A site in the lab: the SSH configuration that leads to it, its host keys, the environment that opens it."""

    home: Path
    config: str = ""
    known: str = ""
    environment: dict[str, str] = field(default_factory=dict)
    shells: dict[str, Shell] = field(default_factory=dict)
    platforms: dict[str, str] = field(default_factory=dict)

    def host(self, name: object, port: int, **options: str) -> None:
        """Lead a device's address, or the name of a jump host, to a port of loopback."""
        self.config += f"Host {name}\n  HostName 127.0.0.1\n  Port {port}\n"
        self.config += "".join(f"  {key} {value}\n" for key, value in options.items())

    def run(self, *arguments: object) -> subprocess.CompletedProcess[str]:
        """Run the command as cron does, to its end."""
        process = self.start(*arguments)
        out, err = process.communicate(timeout=HANGS)
        return subprocess.CompletedProcess(process.args, process.returncode, out, err)

    def start(self, *arguments: object) -> subprocess.Popen[str]:
        """Start the command with nobody at a terminal."""
        (self.home / "ssh_config").write_text(self.config)
        (self.home / "known_hosts").write_text(self.known)
        access = ["--ssh-config", self.home / "ssh_config", "--known-hosts", self.home / "known_hosts"]
        kept = {"PATH": os.environ["PATH"], "HOME": str(self.home), "PYTHONPATH": str(ROOT)}
        secrets = {"AUDITOR_USER": USER, "AUDITOR_PASSWORD": PASSWORD, "AUDITOR_ENABLE": ENABLE}
        return subprocess.Popen(
            [sys.executable, "-m", "auditor", *map(str, arguments), *map(str, access)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            stdin=subprocess.DEVNULL,
            env={**kept, **PASSPHRASES, **secrets, **self.environment},
            # a shell that starts tests in the background has them ignore it
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509 - no threads that hold locks matter to it
        )


OF_ANY_AGE = ("--max-age", "none")
"""The day of the fixtures' files is that of the checkout."""
PROMPTS = {
    "mikrotik_routeros": f"[{USER}@{{device}}] > ",
    "fortinet": "{device} # ",
    "juniper_junos": f"{USER}@{{device}}> ",
}
"""What a prompt looks like; elsewhere it is the device's name and ``#``."""


def shell_of(platform: str, device: str, folder: Path) -> Shell:
    """Return a scripted device that answers with its saved capture, page by page where the dialect has a pager."""
    data = catalogue.get(platform)
    saved = folder / device
    if saved.is_dir():
        texts = {command: saved / (command.replace(" ", "_") + ".txt") for command in data.commands}
        answers = {command: bare(path, platform) for command, path in texts.items() if path.is_file()}
    else:
        (path,) = folder.glob(f"{device}.*")
        answers = {next(iter(data.commands)): bare(path, platform)}
    prompt = PROMPTS.get(platform, "{device}#").format(device=device)
    low = f"{device}>" if data.live.privilege else ""
    pager = (data.live.pager or [""])[0]
    return Shell(prompt=prompt, low_prompt=low, page=24 if pager else 0, pager=pager, answers=answers)


def bare(path: Path, platform: str) -> str:
    """Return a saved answer without the prompts that were saved with it."""
    prompt = re.compile(catalogue.get(platform).pattern("prompt"))
    return "".join(line for line in path.read_text().splitlines(keepends=True) if not prompt.match(line))


@pytest.fixture(params=["conforming", "drifted"])
def quarry_road(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[LiveSite, Path]]:
    """The clinic: gateway and switches as scripted devices, one access point each behind OpenSSH and a jump host."""
    folder = QUARRY / request.param
    site = LiveSite(tmp_path)
    with (
        lab() as found,
        openssh.sshd(tmp_path / "ap1", openssh.openwrt(tmp_path / "ap1_device", "ap1", folder / "ap1")) as ap1,
        openssh.sshd(tmp_path / "ap2", openssh.openwrt(tmp_path / "ap2_device", "ap2", folder / "ap2")) as ap2,
        openssh.sshd(tmp_path / "jump") as jump,
    ):
        for device, platform in (("gw1", "mikrotik_routeros"), ("core1", "cisco_ios"), ("access1", "cisco_ios")):
            site.platforms[device] = platform
            site.shells[device] = shell_of(platform, device, folder)
            site.host(f"QRC-01-{device}", found.start(site.shells[device]))
        clinic = load_plan(QUARRY / "plan.yaml").data.devices
        site.host(clinic["ap1"].address, ap1.port)
        site.host(clinic["ap2"].address, ap2.port, ProxyJump="jump")
        site.host("jump", jump.port)
        site.known = found.known_hosts + ap1.known_host + ap2.known_host + jump.known_host
        for name, server in (("AP1", ap1), ("AP2", ap2), ("JUMP", jump)):
            site.environment |= {f"AUDITOR_USER_{name}": server.user, f"AUDITOR_KEY_{name}": str(server.key_file)}
        yield site, folder


def told(path: Path) -> dict[str, object]:
    """Return what a report says but for how its captures are kept: files, lines, hashes."""
    report = json.loads(path.read_text())
    findings = [{k: v for k, v in finding.items() if k != "evidence"} for finding in report["findings"]]
    quoted = [[line["text"].strip() for line in finding["evidence"]] for finding in report["findings"]]
    devices = [(d["name"], d["outcome"], d["verdict"], d["counts"], d["reason"]) for d in report["devices"]]
    return {"findings": findings, "quoted": quoted, "devices": devices, "counts": report["counts"]}


@needs_sshd
def test_a_site_audited_live_is_told_as_from_saved_captures(quarry_road: tuple[LiveSite, Path], tmp_path: Path):
    site, folder = quarry_road
    live = site.run("audit", QUARRY / "plan.yaml", "--out", tmp_path / "live")
    assert live.returncode == (0 if folder.name == "conforming" else 1), live.stdout + live.stderr
    saved = site.run("audit", QUARRY / "plan.yaml", "--captures", folder, "--out", tmp_path / "saved", *OF_ANY_AGE)
    assert told(tmp_path / "live" / "report.json") == told(tmp_path / "saved" / "report.json")
    assert saved.returncode == live.returncode
    captures = tmp_path / "live" / "captures"
    again = site.run("audit", QUARRY / "plan.yaml", "--captures", captures, "--out", tmp_path / "again", "--no-history")
    assert again.returncode == live.returncode
    first, second = ((tmp_path / name / "report.json").read_bytes() for name in ("live", "again"))
    assert first == second
    assert "ap2: captured" in live.stderr
    _nothing_but_allowed(site)
    _no_secret(tmp_path / "live", live, PASSPHRASES["QUARRY_GUEST"])
    for device in ("gw1", "core1", "access1", "ap1", "ap2"):
        kept = tmp_path / "live" / "captures" / device
        assert {path.stat().st_mode & 0o777 for path in kept.iterdir()} == {0o600}
        assert kept.stat().st_mode & 0o777 == 0o700
        assert json.loads((kept / RECORD).read_text())["device"] == device


@pytest.mark.parametrize("captures", ["conforming", "drifted"])
def test_five_makes_audited_live_are_told_as_from_saved_captures(captures: str, tmp_path: Path):
    folder, plan = NETWORKS / MIXED / captures, NETWORKS / MIXED / "plan.yaml"
    site = LiveSite(tmp_path)
    with lab() as found:
        for device, entry in load_plan(plan).data.devices.items():
            site.platforms[device] = entry.platform
            site.shells[device] = shell_of(entry.platform, device, folder)
            site.host(entry.address, found.start(site.shells[device]))
        site.known = found.known_hosts
        live = site.run("audit", plan, "--out", tmp_path / "live")
    assert live.returncode == (0 if captures == "conforming" else 1), live.stdout + live.stderr
    site.run("audit", plan, "--captures", folder, "--out", tmp_path / "saved", *OF_ANY_AGE)
    assert told(tmp_path / "live" / "report.json") == told(tmp_path / "saved" / "report.json")
    _nothing_but_allowed(site)
    _no_secret(tmp_path / "live", live, PASSPHRASES["MILLRACE_GUEST"], "not0a0real", "notAReal")


def test_one_device_is_read_alone_and_the_report_says_so(tmp_path: Path):
    plan, folder = NETWORKS / MIXED / "plan.yaml", NETWORKS / MIXED / "conforming"
    site = LiveSite(tmp_path, platforms={"sw1": "hp_procurve"})
    with lab() as found:
        site.shells["sw1"] = shell_of("hp_procurve", "sw1", folder)
        site.host(load_plan(plan).data.devices["sw1"].address, found.start(site.shells["sw1"]))
        site.known = found.known_hosts
        alone = site.run("capture", plan, "--out", tmp_path / "captures", "--only", "sw1")
        audit = site.run("audit", plan, "--only", "sw1", "--out", tmp_path / "report")
        wrong = site.run("audit", plan, "--only", "sw9")
    assert (alone.returncode, [path.name for path in (tmp_path / "captures").iterdir()]) == (0, ["sw1"])
    assert audit.returncode == EXIT_CODES["incomplete"]
    outcomes = {
        d["name"]: d["outcome"] for d in json.loads((tmp_path / "report" / "report.json").read_text())["devices"]
    }
    assert outcomes == dict.fromkeys(("fw1", "core1", "sw2", "ap1"), "not captured") | {"sw1": "audited"}
    assert wrong.returncode == 2
    assert "the plan has no device named" in wrong.stderr


PLAN = """
format: 1
site: {site}
devices: {{sw1: {{role: access, platform: hp_procurve, address: {address}}}}}
"""


@pytest.fixture
def three(tmp_path: Path) -> Iterator[tuple[LiveSite, list[Path]]]:
    """Three sites of a switch each; the plan of the second is wrong."""
    folder = NETWORKS / MIXED / "conforming"
    site = LiveSite(tmp_path / "home")
    site.home.mkdir()
    plans = [tmp_path / f"{name}.yaml" for name in ("mill", "moor", "moss")]
    with lab() as found:
        for number, plan in enumerate(plans, 1):
            plan.write_text(PLAN.format(site=plan.stem, address=f"127.0.0.{number}"))
            site.host(f"127.0.0.{number}", found.start(shell_of("hp_procurve", "sw1", folder)))
        plans[1].write_text(plans[1].read_text().replace("role: access", "role: acess"))
        site.known = found.known_hosts
        yield site, plans


def test_a_plan_that_is_wrong_is_left_out_of_a_round(three: tuple[LiveSite, list[Path]], tmp_path: Path):
    site, plans = three
    for command in ("capture", "audit"):
        run = site.run(command, *plans, "--out", tmp_path / command)
        assert run.returncode == 2, run.stdout + run.stderr
        assert "moor.yaml:4: devices.sw1.role: expected one of gateway, core, access, ap" in run.stderr
        assert run.stderr.count("sw1: captured") == 2
        assert {path.name for path in (tmp_path / command).iterdir()} == {"mill", "moss"}
    assert (tmp_path / "audit" / "moss" / "report.json").is_file()


def test_captures_that_cannot_be_written_cost_that_site_alone(three: tuple[LiveSite, list[Path]], tmp_path: Path):
    site, (mill, _, moss) = three
    for command in ("capture", "audit"):
        out = tmp_path / command
        out.mkdir()
        (out / "mill").write_text("a file stands in the way")
        run = site.run(command, mill, moss, "--out", out)
        assert run.returncode == 2, run.stdout + run.stderr
        assert f"auditor: {mill}: {out / 'mill'}" in run.stderr
        assert "the capture of sw1 cannot be written" in run.stderr
        kept = out / "moss" / ("captures" if command == "audit" else "") / "sw1"
        assert RECORD in {path.name for path in kept.iterdir()}
        if command == "audit":
            assert run.stdout.count("sw1     hp_procurve  audited") == 2
            assert (out / "moss" / "report.json").is_file()


def names_in(folder: Path) -> set[str]:
    return {path.name for path in folder.glob("*")}


def test_an_interrupted_round_leaves_whole_captures_only(tmp_path: Path):
    plan, folder = NETWORKS / MIXED / "plan.yaml", NETWORKS / MIXED / "conforming"
    site = LiveSite(tmp_path)
    with lab() as found:
        for device, entry in load_plan(plan).data.devices.items():
            shell = shell_of(entry.platform, device, folder)
            shell.silent = device in ("fw1", "sw2")
            site.host(entry.address, found.start(shell))
        site.known = found.known_hosts
        run = site.start("capture", plan, "--out", tmp_path / "captures")
        while run.poll() is None and not {"core1", "sw1", "ap1"} <= names_in(tmp_path / "captures"):
            time.sleep(0.02)
        run.send_signal(signal.SIGINT)
        run.communicate(timeout=HANGS)
    assert run.returncode == 130
    assert sorted(path.name for path in (tmp_path / "captures").iterdir()) == ["ap1", "core1", "sw1"]
    for device in ("ap1", "core1", "sw1"):
        assert RECORD in {path.name for path in (tmp_path / "captures" / device).iterdir()}


def _nothing_but_allowed(site: LiveSite) -> None:
    """Every byte that the scripted devices received is a command of the platform, a line end, or the enable secret."""
    for device, shell in site.shells.items():
        platform = catalogue.get(site.platforms[device])
        live = platform.live
        allowed = {*platform.commands, *live.pager, *live.leave, live.privilege, ENABLE, ""}
        assert set(shell.received.decode().replace("\r", "\n").split("\n")) <= allowed


def _no_secret(folder: Path, run: subprocess.CompletedProcess[str], *more: str) -> None:
    for secret in (PASSWORD, ENABLE, *more):
        assert secret not in run.stdout + run.stderr
        assert [path for path in folder.rglob("*") if path.is_file() and secret.encode() in path.read_bytes()] == []
