"""The cases below ``fixtures/platforms/<name>/<case>/``: a capture of one device, and ``expected.yaml`` beside it."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from textfsm import TextFSM  # type: ignore[import-untyped]

from auditor.areas import Reading, read
from auditor.core.state import KEYED_AREAS, DeviceState, Setting, default_of, plain
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile, Disposition
from tests.conftest import FIXTURES

EXPECTED = "expected.yaml"


def cases(platform: str | None = None) -> list[Path]:
    """Return the folders of all cases, or of one platform's."""
    return [
        folder
        for name in ([platform] if platform else catalogue.names())
        for folder in sorted((FIXTURES / "platforms" / name).iterdir())
        if folder.is_dir()
    ]


def case_id(folder: Path) -> str:
    """Return what a case is called in a test's name."""
    return f"{folder.parent.name}-{folder.name}"


def sources(folder: Path) -> list[CaptureFile]:
    """Return a case's files, as ``auditor read`` would take them."""
    return [CaptureFile(path.name, path.read_bytes()) for path in sorted(folder.iterdir()) if path.name != EXPECTED]


@cache
def reading_of(folder: Path) -> Reading:
    """Return what is read of a case."""
    return read(folder.parent.name, sources(folder))


def observed(folder: Path) -> dict[str, Any]:
    """Return what a case's ``expected.yaml`` has to say."""
    reading = reading_of(folder)
    return {
        "state": said(reading.state),
        "not_understood": [
            f"{lines.name}:{number}" for lines in reading.lines for number in lines.numbered(Disposition.NOT_UNDERSTOOD)
        ],
        "complete": reading.complete,
        "problem": reading.problem or None,
        "not_shown": {str(setting): save for setting, save in reading.not_shown.items()},
    }


def said(state: DeviceState) -> dict[str, Any]:
    """Return a state as JSON has it, but for what is there where nothing is said: no case says a new area or field."""
    found = state.as_json()
    for area, items in found.items():
        if area in KEYED_AREAS:
            for key, item in items.items():
                items[key] = {name: value for name, value in item.items() if value != _plain_default(area, name)}
    return {area: items for area, items in found.items() if items or area not in KEYED_AREAS}


def _plain_default(area: str, name: str) -> Any:
    return plain(default_of(Setting(area, "", name)))


def parsed(platform: str, template: str) -> Any:
    """Return a template as TextFSM has it."""
    return TextFSM(io.StringIO(catalogue.template_text(platform, f"{template}.textfsm")))


class _OneLineAnItem(yaml.SafeDumper):
    """Writes a port, a gateway, a scope … on a line of its own, so that a person can read it line by line."""

    def represent_mapping(self, tag: str, mapping: Any, flow_style: bool | None = None) -> yaml.MappingNode:
        plain = not any(isinstance(value, dict) for value in mapping.values()) or "reservations" in mapping
        return super().represent_mapping(tag, mapping, flow_style=flow_style or (plain and "problem" not in mapping))

    def increase_indent(self, flow: bool = False, indentless: bool = False) -> None:
        return super().increase_indent(flow, False)


def dump(expected: dict[str, Any]) -> str:
    """Write an ``expected.yaml``."""
    return yaml.dump(expected, Dumper=_OneLineAnItem, sort_keys=False, allow_unicode=True, width=10_000)
