"""A field and an area are added to a copy of the project as DEVELOPERS.md says, and everything works with them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import ROOT, from_yaml
from tests.test_contributor import contents, plain, run

__all__ = ["plain"]
GIVEN = Path(__file__).parent / "adding"
PLATFORM = "cisco_ios"
TESTS = (
    "tests/areas",
    "tests/plan",
    "tests/reading/test_row_models.py",
    "tests/test_manual.py",
    "tests/test_layers.py",
)
"""What is run in the copy besides the tests of the dialect."""
FILE = "core1/show_running-config.txt"
AUDITED = f"""
from dataclasses import replace
from auditor.plan.loader import parse
from tests.compare.site import conforming, edited, plan_text
plan = parse("plan.yaml", edited(plan_text("quarry-road"), {{old!r}}, {{new!r}}).encode())
site = replace(conforming("quarry-road"), plan=plan)
site = site.having("{FILE}", edited(site.text("{FILE}"), {{was!r}}, {{now!r}}))
print([(f.setting, f.kind, f.consequence, f.effect) for f in site.report().findings])
"""
"""Audits a site against a plan that says the new thing, with a capture in which it is otherwise."""


def added(project: Path, what: str) -> set[str]:
    """Make the edits of a file below ``adding``; return the files that they touch."""
    edits: list[dict[str, Any]] = from_yaml((GIVEN / f"{what}.yaml").read_bytes())
    for edit in edits:
        path = project / edit["file"]
        if "text" in edit:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(edit["text"], encoding="utf-8")
            continue
        text, old = path.read_text(encoding="utf-8"), edit["old"].removesuffix("\n")
        assert text.count(old) == 1, f"{edit['file']} has {old!r} {text.count(old)} times"
        path.write_text(text.replace(old, edit["new"].removesuffix("\n")), encoding="utf-8")
    return {edit["file"] for edit in edits}


def named(section: str) -> list[str]:
    """Return the files and folders that a section of DEVELOPERS.md names, for the dialect that is tried."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    body = text.partition(f"\n## {section}\n")[2].partition("\n## ")[0]
    steps = re.findall(r"^\d+\. .*(?:\n   .*)*", body, re.MULTILINE)
    assert len(steps) >= 5
    path = re.compile(r"`((?:auditor|templates|tests|fixtures)/[\w./<> -]+)`")
    paths = [each for step in steps for each in path.findall(step)]
    return [each.replace("<netmiko type>", PLATFORM).replace("<area>", "ports") for each in paths]


def is_named(file: str, names: list[str]) -> bool:
    return any(file == name or (name.endswith("/") and file.startswith(name)) for name in names)


def tried(project: Path, *arguments: str) -> str:
    """Run tests in a project; return how they ended."""
    result = run(project, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-n", "0", *arguments)
    return result.stdout[-3000:] if result.returncode else "passed"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("what", "section", "old", "new", "was", "now", "found"),
    [
        (
            "setting",
            "Adding a setting",
            "{access: imaging, description: x-ray}",
            "{access: imaging, description: x-ray, poe: true}",
            " description x-ray\n",
            " description x-ray\n power inline never\n",
            "('ports.GigabitEthernet1/0/13.poe', 'differs', 'outage', 'core1 GigabitEthernet1/0/13 does not feed",
        ),
        (
            "area",
            "Adding an area",
            "    address: 10.40.99.2\n",
            "    address: 10.40.99.2\n    hosts: {printer: 10.40.99.4}\n",
            "\nend\n",
            "\nip host printer 10.40.99.5\nend\n",
            "('hosts.printer.address', 'differs', 'outage', 'core1 takes printer for 10.40.99.5",
        ),
    ],
    ids=["setting", "area"],
)
def test_the_steps_are_all_it_takes(
    what: str, section: str, old: str, new: str, was: str, now: str, found: str, plain: Path
):
    before = contents(plain)
    touched = added(plain, what)
    tried(plain, "--update", "tests/platforms/test_cases.py", "tests/test_manual.py")
    assert tried(plain, *TESTS) == "passed"
    assert tried(plain, "tests/platforms", "-k", PLATFORM) == "passed"
    audited = run(plain, "-c", AUDITED.format(old=old, new=new, was=was, now=now))
    assert found in audited.stdout, audited.stdout + audited.stderr

    changed = {path for path, digest in contents(plain).items() if before.get(path) != digest}
    names = named(section)
    assert [str(path) for path in sorted(changed) if not is_named(str(path), names)] == []
    assert {Path(file) for file in touched} <= changed
