"""Captures on disk: no secret in them, the same read from them, whole or not there."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from auditor.areas import read
from auditor.capture import saving
from auditor.capture.files import SavedCaptures
from auditor.capture.interface import Captured
from auditor.capture.masking import without_secrets
from auditor.capture.saving import RECORD, CaptureRecord, save
from auditor.compare import passphrase
from auditor.errors import UsageError
from auditor.files import hold, write_new
from auditor.passphrases import is_keyed_digest, keyed_digest, keyed_digest_fits
from auditor.platforms import catalogue
from auditor.platforms.live import answer_file
from auditor.reading.source import AUDITED_KINDS, CaptureFile, Lines
from tests.conftest import FIXTURES, ROOT
from tests.effort import share
from tests.platforms.cases import case_id, cases, sources
from tests.platforms.corpus import demo_devices

WHEN = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def audited(lines: Lines) -> list[int]:
    """Return what became of the lines of audited areas; lines of a secret may have become blank."""
    return [kind if kind in AUDITED_KINDS else 0 for kind in lines.kinds]


def same_but_for_secrets(platform: str, files: list[CaptureFile]) -> None:
    kept = without_secrets(platform, files)
    before, after = read(platform, files), read(platform, kept)
    assert after.state == before.state
    assert after.problem == before.problem
    assert [audited(lines) for lines in after.lines] == [audited(lines) for lines in before.lines]
    told = b"".join(file.data for file in kept).decode()
    for ssid, stored in before.passphrases.items():
        for one in stored:
            if one.form in ("plain", "type7") and len(one.text) >= 8:
                assert one.text not in told
        assert len(after.passphrases[ssid]) == len(stored)


@pytest.mark.parametrize("home", ["networks", "drifts"])
@pytest.mark.parametrize("platform", share(catalogue.names(), quick=4))
def test_captures_without_their_secrets_read_the_same(platform: str, home: str):
    for device in demo_devices(FIXTURES / home, platform):
        same_but_for_secrets(device.platform, device.sources())


@pytest.mark.parametrize("folder", share(cases(), case_id, quick=6), ids=case_id)
def test_a_case_without_its_secrets_reads_the_same(folder: Path):
    same_but_for_secrets(folder.parent.name, sources(folder))


def test_a_sealed_passphrase_can_still_be_compared():
    """The vectors of IEEE 802.11i-2004 annex H.4 as passphrase and derived key."""
    key = "f42c6fc52df0ebef9ebb4b90b38a5f902e83fe1b135a70e23aed762e9710a12e"
    for stored in ("password", key):
        mark = keyed_digest(stored, "IEEE")
        assert is_keyed_digest(mark)
        assert stored not in mark
        assert key not in mark
        assert keyed_digest_fits(mark, "password", "IEEE")
        assert keyed_digest_fits(mark, key, "IEEE")
        assert not keyed_digest_fits(mark, "passwords", "IEEE")
        assert not keyed_digest_fits(mark, "password", "IEEF")
    assert keyed_digest("password", "IEEE") != keyed_digest("password", "IEEE")
    kept = read(
        "openwrt",
        without_secrets(
            "openwrt",
            [
                CaptureFile(
                    "wireless",
                    b"config wifi-device 'r'\n option band '2g'\nconfig wifi-iface\n option device 'r'\n"
                    b" option ssid 'IEEE'\n option encryption 'psk2'\n option key 'password'\n",
                )
            ],
        ),
    )
    assert passphrase.matches("password", "IEEE", kept.passphrases["IEEE"]) is True
    assert passphrase.matches("passwort", "IEEE", kept.passphrases["IEEE"]) is False


@pytest.mark.parametrize(
    ("command", "file"),
    [
        ("show running-config", "show_running-config.txt"),
        ("/export", "export.txt"),
        ("show configuration | no-more", "show_configuration_no-more.txt"),
        ("uci export network", "uci_export_network.txt"),
    ],
)
def test_a_file_is_called_by_its_command(command: str, file: str):
    assert answer_file(command) == file


def record(device: str = "sw1", **more: object) -> CaptureRecord:
    return CaptureRecord(device, "10.0.0.2", "cisco_ios", ("show running-config",), WHEN, WHEN, **more)  # type: ignore[arg-type]


def files(text: bytes = b"hostname sw1\nend\n") -> list[CaptureFile]:
    return [CaptureFile("sw1/show_running-config.txt", text)]


def but_for_days(captures: SavedCaptures) -> Captured:
    """Return what is saved of the switch, without the days of its files."""
    found = captures.capture("sw1")
    assert isinstance(found, Captured)
    return replace(found, days=())


def test_what_is_saved_is_found_again_for_its_owner_alone(tmp_path: Path):
    save(tmp_path / "captures", record(notes=("it needs an outdated algorithm: ssh-rsa",)), files())
    found = but_for_days(SavedCaptures(tmp_path / "captures"))
    assert found == Captured(files(), ("it needs an outdated algorithm: ssh-rsa",))
    folder = tmp_path / "captures" / "sw1"
    assert folder.stat().st_mode & 0o777 == 0o700
    assert {path.name: path.stat().st_mode & 0o777 for path in folder.iterdir()} == {
        RECORD: 0o600,
        "show_running-config.txt": 0o600,
    }
    told = json.loads((folder / RECORD).read_text())
    assert told["files"] == [
        {"file": "show_running-config.txt", "command": "show running-config", "sha256": files()[0].sha256}
    ]
    assert (told["device"], told["address"], told["platform"]) == ("sw1", "10.0.0.2", "cisco_ios")


def test_a_newer_capture_takes_the_place_of_an_older_one(tmp_path: Path):
    save(tmp_path, record(), [*files(), CaptureFile("sw1/old.txt", b"x")][:1])
    save(tmp_path, record(), files(b"hostname sw1\nvlan 10\nend\n"))
    assert [path.name for path in tmp_path.iterdir()] == ["sw1"]
    assert b"vlan 10" in (tmp_path / "sw1" / "show_running-config.txt").read_bytes()


@pytest.mark.parametrize("fails_at", range(3))
def test_a_capture_that_cannot_be_written_leaves_the_older_one(
    fails_at: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    save(tmp_path, record(), files())
    calls = iter(range(99))
    write = write_new

    def failing(path: Path, data: bytes, *, group: bool) -> None:
        if next(calls) == fails_at:
            raise KeyboardInterrupt
        write(path, data, group=group)

    monkeypatch.setattr(saving, "write_new", failing)
    three = CaptureRecord("sw1", "10.0.0.2", "cisco_ios", ("a", "b"), WHEN, WHEN)
    with pytest.raises(KeyboardInterrupt):
        save(tmp_path, three, [CaptureFile("sw1/a.txt", b"a"), CaptureFile("sw1/b.txt", b"b")])
    assert [path.name for path in tmp_path.iterdir()] == ["sw1"]
    assert (tmp_path / "sw1" / "show_running-config.txt").read_bytes() == files()[0].data


@pytest.mark.parametrize("text", ["", "no json", "[]", '{"format": "other"}', '{"format": "auditor-capture/1"}'])
def test_a_record_of_something_else_says_nothing(text: str, tmp_path: Path):
    save(tmp_path, record(), files())
    (tmp_path / "sw1" / RECORD).write_text(text)
    assert but_for_days(SavedCaptures(tmp_path)) == Captured(files())


def test_captures_of_one_device_at_the_same_time_leave_one_whole(tmp_path: Path):
    texts = [f"hostname sw{number}\nend\n".encode() for number in range(8)]
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda text: save(tmp_path, record(), files(text)), texts * 10))
    assert [path.name for path in tmp_path.iterdir()] == ["sw1"]
    kept = (tmp_path / "sw1" / "show_running-config.txt").read_bytes()
    assert kept in texts
    told = json.loads((tmp_path / "sw1" / RECORD).read_text())
    assert told["files"][0]["sha256"] == files(kept)[0].sha256


@pytest.mark.parametrize("pager", [" --More-- ", "-- MORE --, next page: Space, next line: Enter, quit: Control-C"])
@pytest.mark.parametrize("wiped", [True, False])
@pytest.mark.parametrize(
    ("platform", "line"),
    [
        ("hp_procurve", 'password manager user-name "x" sha1 "not0a0secret"'),
        ("cisco_ios", " wpa-psk ascii 0 not0a0secret"),
        ("cisco_ios", " key not0a0secret"),
        ("openwrt", "\toption key 'not0a0secret'"),
        ("vyos", "set interfaces pppoe pppoe0 authentication password 'not0a0secret'"),
    ],
)
def test_a_pager_does_not_hide_a_secret(pager: str, wiped: bool, platform: str, line: str):
    erased = "\x08" * len(pager) + " " * len(pager) + "\x08" * len(pager) if wiped else ""
    kept = without_secrets(platform, [CaptureFile("x.txt", f"hostname x\n{pager}{erased}{line}\n".encode())])
    assert b"not0a0secret" not in kept[0].data


MOVES = {
    "to the left": "{more}\x1b[10D          \x1b[10D",
    "to a place": "{more}\x1b[24;1H\x1b[2K\x1b[24;1H",
    "to a place behind text": "interface x\x1b[7;30H",
    "the whole line erased": "{more}\x1b[2K\r",
    "erased up to here": "{more}\x1b[1K\r",
    "kept and put back": "\x1b7{more}\x1b8\x1b[K",
    "to a column": "{more}\x1b[1G\x1b[K",
    "to the next row": "{more}\x1bE",
    "up and down": "interface x\x1b[A\x1b[B",
    "an unknown one": "{more}\r\x1b[?7$p\x1b[K",
}


@pytest.mark.parametrize("move", MOVES.values(), ids=MOVES)
@pytest.mark.parametrize(
    ("platform", "line"),
    [
        ("hp_procurve", 'password manager user-name "x" sha1 "not0a0secret"'),
        ("cisco_ios", " wpa-psk ascii 0 not0a0secret"),
        ("cisco_ios", " key 7 not0a0secret"),
        ("cisco_s300", "encrypted radius-server key not0a0secret"),
        ("openwrt", "\toption key 'not0a0secret'"),
        ("juniper_junos", "set snmp community not0a0secret"),
    ],
)
def test_a_moved_cursor_does_not_hide_a_secret(move: str, platform: str, line: str):
    text = f"hostname x\n{move.format(more=' --More-- ')}{line}\nend\n"
    (kept,) = without_secrets(platform, [CaptureFile("x.txt", text.encode())])
    assert b"not0a0secret" not in kept.data
    assert b"<redacted>" in kept.data
    assert b"end\n" in kept.data


KILLED = """
import os, signal, sys
from pathlib import Path
from auditor.capture import saving
from auditor.capture.saving import CaptureRecord, save
from auditor.reading.source import CaptureFile
from datetime import UTC, datetime
home, left = Path(sys.argv[1]), int(sys.argv[2])
def counted(function):
    def call(*args, **options):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return function(*args, **options)
    return call
saving.write_new = counted(saving.write_new)
Path.replace = counted(Path.replace)
saving.shutil.rmtree = counted(saving.shutil.rmtree)
when = datetime(2026, 11, 25, tzinfo=UTC)
save(home, CaptureRecord("sw1", "10.0.0.2", "cisco_ios", ("show running-config",), when, when),
     [CaptureFile("sw1/show_running-config.txt", b"hostname newer\\nend\\n")])
"""


@pytest.mark.slow
@pytest.mark.parametrize("steps", range(5))
def test_a_process_that_is_killed_while_saving_leaves_a_capture_and_nothing_else(steps: int, tmp_path: Path):
    """Two files are written, two renames put them in their place, the older ones are taken away."""
    older = files(b"hostname older\nend\n")
    save(tmp_path, record(), older)
    run = subprocess.run([sys.executable, "-c", KILLED, tmp_path, str(steps)], cwd=ROOT, check=False)
    assert run.returncode == -signal.SIGKILL
    found = SavedCaptures(tmp_path).capture("sw1")
    assert isinstance(found, Captured)
    assert found.files[0].name == "sw1/show_running-config.txt"
    assert found.files[0].data == (b"hostname newer\nend\n" if steps == 4 else older[0].data)
    assert len(list(tmp_path.iterdir())) > 1
    (tmp_path / ".sw1.other.old").mkdir()
    save(tmp_path, record(), files())
    assert sorted(path.name for path in tmp_path.iterdir()) == [".sw1.other.old", "sw1"]
    assert but_for_days(SavedCaptures(tmp_path)) == Captured(files())


def test_a_capture_that_was_taken_away_is_put_back_where_the_new_one_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    save(tmp_path, record(), files())
    (tmp_path / "sw1").rename(tmp_path / ".sw1.abcdefgh.old")
    assert but_for_days(SavedCaptures(tmp_path)) == Captured(files())

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(saving, "write_new", full)
    with pytest.raises(UsageError, match="sw1 cannot be written: No space left"):
        save(tmp_path, record(), files(b"x"))
    assert [path.name for path in tmp_path.iterdir()] == ["sw1"]


def test_what_another_process_is_writing_is_left_alone(tmp_path: Path):
    made = tmp_path / ".sw1.abcdefgh"
    made.mkdir()
    let_go = hold(made)
    save(tmp_path, record(), files())
    assert made.is_dir()
    let_go()
    save(tmp_path, record(), files())
    assert [path.name for path in tmp_path.iterdir()] == ["sw1"]
