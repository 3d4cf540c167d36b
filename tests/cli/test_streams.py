"""Nothing that happens to the standard streams changes what a run found: a closed pipe, a full disk, an encoding."""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

import pytest

from auditor.cli import main
from auditor.cli.streams import Outlet
from auditor.errors import AuditorError
from tests.cli.called import QUARRY, Two
from tests.cli.test_sites import FILES
from tests.compare.site import PASSPHRASES
from tests.conftest import ROOT

pytestmark = pytest.mark.slow

DRIFTED = ["audit", QUARRY / "plan.yaml", "--captures", QUARRY / "drifted"]


def run_with(command: Sequence[object], streams: Mapping[str, object], monkeypatch: pytest.MonkeyPatch) -> object:
    """Run a command in this process with other standard streams; return what it ends with."""
    for name, value in PASSPHRASES.items():
        monkeypatch.setenv(name, value)
    with monkeypatch.context() as patched:
        for name, stream in streams.items():
            patched.setattr(sys, name, stream)
        with pytest.raises(SystemExit) as ended:
            main([str(part) for part in command])
    return ended.value.code


@pytest.fixture
def nobody_reads() -> Iterator[Callable[[], io.TextIOWrapper]]:
    """What makes pipes whose reader has gone away."""
    made: list[io.TextIOWrapper] = []

    def pipe() -> io.TextIOWrapper:
        reader, writer = os.pipe()
        os.close(reader)
        made.append(io.TextIOWrapper(os.fdopen(writer, "wb"), encoding="utf-8"))
        return made[-1]

    yield pipe
    for each in made:
        with contextlib.suppress(BrokenPipeError):
            each.close()


@pytest.mark.parametrize("names", [("stdout",), ("stderr",), ("stdout", "stderr")], ids="+".join)
@pytest.mark.parametrize("quiet", [[], ["--quiet"]], ids=["loud", "quiet"])
def test_a_closed_pipe_is_no_failure_and_all_files_are_there(
    names: tuple[str, ...],
    quiet: list[str],
    two: Two,
    monkeypatch: pytest.MonkeyPatch,
    nobody_reads: Callable[[], io.TextIOWrapper],
):
    two.drift("gw1.rsc")
    command = ["audit", two.clinic, two.bakery, "--captures", two.captures, "--out", two.folder / "out", *quiet]
    assert run_with(command, {name: nobody_reads() for name in names}, monkeypatch) == 1
    for site in ("clinic", "bakery"):
        assert {path.name for path in (two.folder / "out" / site).iterdir()} == FILES


def test_every_command_may_write_into_a_closed_pipe(
    two: Two, monkeypatch: pytest.MonkeyPatch, nobody_reads: Callable[[], io.TextIOWrapper]
):
    folder, history = two.folder, two.folder / "history.sqlite"
    commands: list[tuple[list[object], int]] = [
        (["audit", two.bakery, "--captures", two.captures / "bakery", "--history", history], 0),
        (["read", "--platform", "mikrotik_routeros", two.captures / "clinic" / "gw1.rsc"], 0),
        (["read", "--platform", "mikrotik_routeros", "--json", two.captures / "clinic" / "gw1.rsc"], 0),
        (["review", two.bakery], 0),
        (["platforms"], 0),
        (["expected", two.bakery, "--out", folder / "expected"], 0),
        (["manual"], 0),
        (["manual", "plan"], 0),
        (["history", two.bakery, "--history", history], 0),
        (["overview", "--out", folder / "page", "--history", history], 0),
        (["demo", "--out", folder / "demo"], 1),
        (["verify", folder / "demo" / "report" / "evidence.zip"], 0),
        (["audit", folder / "none.yaml"], 2),
        (["--help"], 0),
        (["--version"], 0),
        ([], 2),
        (["--frobnicate"], 2),
        (["frobnicate"], 2),
        (["read"], 2),
    ]
    for command, code in commands:
        streams: dict[str, object] = {"stdout": nobody_reads(), "stderr": nobody_reads()}
        assert run_with(command, streams, monkeypatch) == code, command
    assert (folder / "page" / "overview.json").is_file()
    assert len(list((folder / "expected").iterdir())) == 6


class Full(io.StringIO):
    """A disk on which nothing more fits."""

    def write(self, text: str) -> int:
        """Refuse."""
        raise OSError(28, "No space left on device")


def test_results_that_do_not_fit_on_the_disk_end_with_2_and_all_files_are_there(
    two: Two, monkeypatch: pytest.MonkeyPatch
):
    told = io.StringIO()
    command = ["audit", two.clinic, two.bakery, "--captures", two.captures, "--out", two.folder / "out"]
    assert run_with(command, {"stdout": Full(), "stderr": told}, monkeypatch) == 2
    assert told.getvalue().endswith(
        "auditor: the results could not be written to standard output: No space left on device\n"
    )
    for site in ("clinic", "bakery"):
        assert {path.name for path in (two.folder / "out" / site).iterdir()} == FILES
    assert run_with(["platforms"], {"stdout": Full(), "stderr": Full()}, monkeypatch) == 2
    assert run_with(["review", two.bakery], {"stderr": Full()}, monkeypatch) == 0


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "cp437", "shift_jis", "utf-8"])
def test_a_terminal_that_lacks_letters_shows_their_numbers(encoding: str, monkeypatch: pytest.MonkeyPatch, two: Two):
    """The report's signs for consequences, a site's name and a file's may all be beyond what a terminal has."""
    plan = two.folder / os.fsdecode(b"caf\xc3\xa9-\xff\xe2\x96\xb2.yaml")
    plan.write_text((QUARRY / "plan.yaml").read_text().replace("site: Quarry", "site: 日本 Quarry"))
    for command, code in (
        (["audit", plan, "--captures", QUARRY / "drifted"], 1),
        (["audit", plan, "--captures", QUARRY / "drifted", "--quiet"], 1),
        (["audit", plan, "--captures", two.folder / os.fsdecode(b"\xff\xc3\xa9")], 2),
        (["review", plan], 0),
        (["platforms"], 0),
        (["manual", "plan"], 0),
    ):
        shown, told = (io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in range(2))
        assert run_with(command, {"stdout": shown, "stderr": told}, monkeypatch) == code, command
        for stream in (shown, told):
            assert isinstance(stream.buffer, io.BytesIO)
        printed = shown.buffer.getvalue() + told.buffer.getvalue()
        assert b"Traceback" not in printed
        text = printed.decode(encoding)
        if command[0] == "audit" and code == 1:
            assert ("日本" if encoding in ("utf-8", "shift_jis") else r"\u65e5\u672c") in text


def test_a_stream_that_is_not_there_or_closed_is_no_failure(monkeypatch: pytest.MonkeyPatch):
    closed = io.StringIO()
    closed.close()
    for stream in (None, closed):
        assert run_with(DRIFTED, {"stdout": stream, "stderr": stream}, monkeypatch) == 1
        assert run_with(["capture", QUARRY / "none.yaml", "--out", "x"], {"stderr": stream}, monkeypatch) == 2


def test_an_outlet_takes_text_alone_and_passes_it_on():
    stream = io.StringIO()
    outlet = Outlet(stream)
    assert (outlet.write("caf\u00e9 \udcff"), outlet.writable(), outlet.isatty()) == (6, True, False)
    assert (stream.getvalue(), outlet.failure) == ("caf\u00e9 \\udcff", "")
    with pytest.raises((TypeError, AttributeError)):
        outlet.write(b"octets")  # type: ignore[arg-type]
    stream.close()
    assert (outlet.isatty(), outlet.write("more"), outlet.isatty()) == (False, 4, False)
    with pytest.raises(OSError, match="fileno"):
        Outlet(None).fileno()


@pytest.mark.parametrize(
    ("redirection", "code"),
    [("| head -1", 1), ("2>&1 | true", 1), (">&-", 1), (">&- 2>&-", 1), (">/dev/full", AuditorError.exit_code)],
)
def test_a_whole_process_ends_with_the_code_of_the_audit(redirection: str, code: int, tmp_path: Path):
    """Python ends with 120 where it cannot write, in the end, what is still held back."""
    command = [sys.executable, "-m", "auditor", *DRIFTED, "--out", tmp_path]
    script = f'"$@" {redirection}; exit "${{PIPESTATUS[0]}}"'
    run = subprocess.run(
        ["bash", "-c", script, "bash", *map(str, command)],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={**os.environ, **PASSPHRASES, "PYTHONIOENCODING": "ascii", "LC_ALL": "C"},
        check=False,
    )
    assert (run.returncode, {path.name for path in tmp_path.iterdir()}) == (code, FILES), run.stderr
    for word in ("Traceback", "Exception ignored", "BrokenPipe"):
        assert word not in run.stderr
