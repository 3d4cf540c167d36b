"""Arrows go down only: which part of the house may import which, and which one door a heavy library has."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

from tests.checks import each
from tests.conftest import ROOT

PACKAGE = ROOT / "auditor"
LAYERS = [
    ["__main__"],
    ["cli"],
    ["app"],
    ["evidence"],
    ["reports", "history"],
    ["review"],
    ["network", "corrections"],
    ["compare", "capture"],
    ["areas"],
    ["topology"],
    ["plan", "reading"],
    ["redact", "passphrases"],
    ["platforms"],
    ["core"],
    ["resources", "yamltree", "unforeseen", "files", "manual"],
    ["errors", "__init__"],
]
"""From the roof down. A part may import what stands below it; parts of one floor do not import each other."""
INSIDE = {
    "areas": [
        ["__init__", "abilities"],
        ["observing", "planned"],
        ["rooms"],
        ["dhcp", "gateways", "hostname", "isolation", "management", "ports", "ssids", "uplinks", "vlans"],
        ["area"],
        ["numbering", "pair"],
        ["reading"],
        ["device_read", "open_settings"],
        ["block", "observation", "planning", "names", "expected"],
    ],
    "topology": [
        ["contradicted", "hindered", "routes", "snooping", "split", "undone"],
        ["resolver", "users"],
        ["device"],
        ["absent", "ineffective", "layer3", "pvids"],
        ["memberships", "zones"],
        ["layer2", "system"],
        ["aggregation", "air", "chip_ports", "contrary", "relays", "vlan_names", "wifi_interfaces"],
        ["managed_radios"],
        ["interfaces", "switch_chips"],
        ["evidence", "logical", "vlan_tables"],
        ["__init__"],
    ],
    "reading": [
        ["reader"],
        ["days", "stored", "taken_back", "wording"],
        ["dialect"],
        ["answers"],
        ["layouts"],
        ["sections"],
        ["rows"],
        ["row_models", "words", "known", "narrowed"],
        ["fields", "source"],
        ["terminal"],
        ["__init__"],
    ],
    "reading/layouts": [
        ["__init__"],
        ["indented", "statements", "table", "tree", "uci"],
        ["inheritance"],
        ["tree_text"],
    ],
    "reading/row_models": [["__init__"], ["dhcp", "switching", "system", "wifi"], ["row"], ["field_names"]],
}
"""The floors inside of some parts. What a folder shows in its ``__init__`` is for those outside."""
DOORS = {
    "textfsm": {"reading/rows.py"},
    "deepdiff": {"compare/diff.py"},
    "netutils": {"passphrases.py"},
    "netmiko": {"capture/connection.py"},
    "paramiko": {
        "capture/connection.py",
        "capture/failures.py",
        "capture/hostkeys.py",
        "capture/reach.py",
        "capture/transport.py",
    },
    "typst": {"reports/pdf.py"},
    "networkx": {"network/"},
    "keyring": {"capture/credentials.py"},
    "openpyxl": {"plan/workbook.py", "reports/xlsx.py"},
    "yaml": {"yamltree.py"},
    "sqlite3": {"history/"},
    "rich": {
        "reports/terminal.py",
        "reports/history.py",
        "reports/manual.py",
        "reports/reading.py",
        "reports/platforms.py",
        "reports/progress.py",
        "reports/review.py",
    },
    "jinja2": {"platforms/render.py", "reports/html.py"},
    "click": {"cli/"},
}
"""The files that may import a library; a folder stands for all in it."""


def part_of(path: Path) -> str:
    relative = path.relative_to(PACKAGE)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


def imports(path: Path) -> set[str]:
    """Return the modules that a file imports anywhere, under functions too."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
    return found


FILES = sorted(PACKAGE.rglob("*.py"))
FLOOR = {name: number for number, floor in enumerate(LAYERS) for name in floor}


def test_arrows_go_down():
    each([path for path in FILES if path != PACKAGE / "__init__.py"], arrows_go_down)  # which shows names to mypy alone


def arrows_go_down(path: Path) -> None:
    here = part_of(path)
    for module in imports(path):
        if not module.startswith("auditor."):
            continue
        there = module.split(".")[1]
        if there == here or there not in FLOOR:
            continue
        assert FLOOR[here] < FLOOR[there], f"{path.name} is on the floor of {here} and imports {module}"


def test_every_part_has_a_floor():
    assert {part_of(path) for path in FILES} == set(FLOOR)


def rooms_of(house: str) -> dict[str, list[Path]]:
    """Return the files of each module or folder that stands in a folder."""
    found: dict[str, list[Path]] = {}
    for path in sorted((PACKAGE / house).rglob("*.py")):
        parts = path.relative_to(PACKAGE / house).with_suffix("").parts
        found.setdefault(parts[0], []).append(path)
    return found


@pytest.mark.parametrize("house", INSIDE)
def test_arrows_go_down_inside(house: str):
    floor_of = {name: number for number, floor in enumerate(INSIDE[house]) for name in floor}
    home = f"auditor.{house.replace('/', '.')}."
    for here, paths in rooms_of(house).items():
        inside = {module.removeprefix(home) for path in paths for module in imports(path) if module.startswith(home)}
        for module in inside:
            first = module.split(".")[0]
            there = first if first in floor_of else "__init__"  # a name that the front door shows
            assert here == there or floor_of[here] < floor_of[there], f"{house}: {here} imports {module} from above"


@pytest.mark.parametrize("house", INSIDE)
def test_every_part_inside_has_a_floor(house: str):
    assert set(rooms_of(house)) == {name for floor in INSIDE[house] for name in floor}


@pytest.mark.slow
@pytest.mark.parametrize("library", sorted(DOORS))
def test_a_library_has_one_door(library: str):
    users = {
        str(path.relative_to(PACKAGE))
        for path in FILES
        if any(module.split(".")[0] == library for module in imports(path))
    }
    doors = DOORS[library]
    assert users, f"nobody uses {library}: take it out of the dependencies"
    assert all(user in doors or user.split("/")[0] + "/" in doors for user in users)


CATCHING = {
    "cli/__init__.py": "the border: what nobody foresaw anywhere",
    "unforeseen.py": "what nobody foresaw within a device or a site",
    "capture/live.py": "whatever a device or a library does while it is read",
    "capture/connection.py": "a way that cannot be closed in good order",
    "plan/workbook.py": "a damaged file, which breaks its library in any way there is",
}
"""The files that may catch any exception without raising one, and what ends there."""


def test_what_nobody_foresaw_ends_in_few_places():
    found = set()
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ExceptHandler):
                names = {name.id for name in ast.walk(node.type) if isinstance(name, ast.Name)} if node.type else {""}
                raises = isinstance(node.body[-1], ast.Raise) and node.body[-1].exc is None
                if names & {"", "Exception", "BaseException"} and not raises:
                    found.add(str(path.relative_to(PACKAGE)))
    assert found == set(CATCHING)


def test_help_imports_nothing_heavy():
    """``auditor --help`` must be quick: heavy imports happen on use."""
    import subprocess  # noqa: PLC0415

    code = "import sys, auditor.cli\ntry: auditor.cli.main(['--help'])\nexcept SystemExit: print(sorted(sys.modules))"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    heavy = {"textfsm", "deepdiff", "pydantic", "jinja2", "yaml", "rich", "openpyxl", "netmiko", "netutils", "typst"}
    assert not [name for name in heavy if f"'{name}'" in shown]


def test_files_and_functions_keep_their_size():
    """A file up to about 330 lines, a function that can be seen at once."""
    for path in FILES:
        text = path.read_text()
        assert text.count("\n") <= 340, f"{path} is too long"
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                length = (node.end_lineno or 0) - node.lineno + 1
                assert length <= 65, f"{path}: {node.name} has {length} lines"
