"""The keys of platform.yaml: few, each explained where it is declared, and those of one platform alone listed."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterable, Iterator
from types import ModuleType
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from auditor.platforms import bridging, catalogue, leasing, shape
from auditor.platforms.definition import Platform
from auditor.platforms.proposals import CorrectionRules
from tests.conftest import ROOT

MOST, WITHOUT_CORRECTION = 81, 67
"""Different keys that there are at most, and without those under ``correction``, which a new platform may leave for
later. Whoever needs one more says first which of these it makes needless. Seven say where a dialect has gaps, and made
it needless to find that out at run time; ``block_end``, ``once`` and ``every`` say what a template cannot, and
``unless`` with ``beside`` that what a line names has to be defined."""


CLOSED_LISTS = frozenset({"outside", "harmless", "limits", "overriding", "blocks"})
"""Keys that are for every platform, though not each has lines for all of them."""


def parts(annotation: Any = Platform) -> Iterator[type[BaseModel]]:
    """Yield the models that platform.yaml is made of."""
    if inspect.isclass(annotation) and issubclass(annotation, BaseModel):
        yield annotation
        inner = [field.annotation for field in annotation.model_fields.values()]
        for part in inner:
            yield from parts(part) if part != list[annotation] else ()
    for argument in get_args(annotation):
        yield from parts(argument)


PARTS = sorted(set(parts()), key=lambda part: part.__name__)


@pytest.mark.parametrize("part", PARTS)
def test_each_key_is_explained_where_it_is_declared(part: type[BaseModel]):
    told = part.__doc__ or ""
    assert [name for name in part.model_fields if not re.search(rf"\b{name}\b", told)] == []


def test_there_are_not_more_keys_than_anybody_can_know():
    assert len(_names(PARTS)) <= MOST
    assert len(_names(set(PARTS) - set(parts(CorrectionRules)))) <= WITHOUT_CORRECTION


def _names(every: Iterable[type[BaseModel]]) -> set[str]:
    """Return the names of the keys; that of the folder is none."""
    return {name for part in every for name in part.model_fields} - {"name"}


def test_each_kind_of_line_is_explained():
    source = inspect.getsource(shape)
    assert [kind for kind in get_args(shape.LineKind) if f"``{kind}``:" not in source] == []


NAMED_MODELS = [("bridging", bridging, name) for name in bridging.MODELS]
NAMED_MODELS += [("dhcp", leasing, name) for name in leasing.MODELS]


@pytest.mark.parametrize(("key", "module", "name"), NAMED_MODELS, ids=lambda part: getattr(part, "__name__", part))
def test_a_model_is_explained_and_used(key: str, module: ModuleType, name: str):
    declared, model = name.upper().replace("-", "_"), module.MODELS[name]
    assert getattr(module, declared) is model
    assert re.search(
        rf'^{declared} = {type(model).__name__}\((?:.*|\n(?:    .*\n)+)\)\n"""[A-Z]',
        inspect.getsource(module),
        re.MULTILINE,
    )
    made_up = (ROOT / "tests/contributor/zyxel_os/templates/platform.yaml").read_text(encoding="utf-8")
    used = any(getattr(catalogue.get(each), key) is model for each in catalogue.names())
    assert used or f"{key}: {name}\n" in made_up


def said(part: BaseModel, prefix: str = "") -> Iterator[str]:
    """Yield the keys that a part of a platform's data says, by their paths."""
    for name in part.model_fields_set:
        yield prefix + name
        value = getattr(part, name)
        every = [value] if isinstance(value, BaseModel) else value
        each = list(every.values()) if isinstance(every, dict) else every if isinstance(every, list) else []
        if name == "lines" and isinstance(value, dict):
            yield from (f"lines.{kind}" for kind in value)
        for item in [inner for one in each for inner in (one if isinstance(one, list) else [one])]:
            if isinstance(item, BaseModel):
                yield from said(item, prefix if prefix.endswith(f"{name}.") else f"{prefix}{name}.")


CLOSED_LISTS = frozenset({"outside", "harmless", "limits", "overriding", "blocks"})
"""Keys that are for every platform, though not each has lines for all of them."""


def test_keys_that_one_platform_alone_uses_are_listed_with_their_reasons():
    users: dict[str, set[str]] = {}
    for platform in catalogue.names():
        for key in said(catalogue.get(platform)):
            users.setdefault(key, set()).add(platform)
    alone = {key for key, names in users.items() if len(names) == 1 and CLOSED_LISTS.isdisjoint(key.split("."))}
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.partition("### Keys that one platform alone uses")[2].partition("\n#")[0]
    listed = {key for row in re.findall(r"(?m)^\| (`.+?) \|", table) for key in re.findall(r"`(\S+)`", row)}
    assert listed == alone
