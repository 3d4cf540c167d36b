"""Saved captures: which files are a device's, and what is said where none is though one almost would be."""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor import SavedCaptures, read_capture
from auditor.capture.interface import Captured, NotCaptured
from auditor.errors import UsageError


@pytest.mark.parametrize("name", ["gw1.RSC", "GW1.cfg", "gw1.backup", "gw1", "Gw1.txt"])
def test_a_file_that_is_almost_called_like_a_device_is_named(tmp_path: Path, name: str):
    (tmp_path / name).write_text("/system identity set name=gw1\n", encoding="utf-8")
    found = SavedCaptures(tmp_path).capture("gw1")
    if isinstance(found, Captured):  # on a file system that takes capitals for small letters
        pytest.skip("this file system finds it")
    assert f"is {tmp_path / name} meant? It would have to be called gw1.cfg" in found.reason


def test_files_of_others_are_not_taken_for_a_slip(tmp_path: Path):
    for name in ("gw10.cfg", "gw1-old.cfg.bak2", "core1.cfg"):
        (tmp_path / name).write_text("x\n", encoding="utf-8")
    found = SavedCaptures(tmp_path).capture("gw1")
    assert isinstance(found, NotCaptured)
    assert "save the output of its configuration command as" in found.reason


def test_a_folder_that_is_read_as_a_file_is_told_as_one(tmp_path: Path):
    with pytest.raises(UsageError, match=r"is a folder: name the files in it, .*\*"):
        read_capture("openwrt", [tmp_path])
