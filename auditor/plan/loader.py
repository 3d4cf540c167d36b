"""From a plan file to a Plan: parsed, checked, port shorthand expanded; all errors at once, each with its line."""

from __future__ import annotations

import difflib
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from auditor import yamltree
from auditor.errors import PlanError, Problem
from auditor.plan import references, workbook
from auditor.plan.fields import shown
from auditor.plan.schema import PlanFile, PortPlan, Subnet
from auditor.platforms.names import names_of
from auditor.resources import read_bytes
from auditor.yamltree import YamlTree

KeyPath = tuple[str | int, ...]
MAX_BYTES = 32 * 1024 * 1024
"""No plan is larger, in whatever form it is kept."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan that can be audited against.

    Attributes:
        file: the file's name as it was given.
        sha256: the hash of its bytes.
        data: its entries.
        ports: for each device its ports by canonical name, ranges expanded.
        tree: the lines of its keys.
        raw: the file's bytes.
    """

    file: str
    sha256: str
    data: PlanFile
    ports: dict[str, dict[str, PortPlan]]
    tree: YamlTree
    raw: bytes = field(repr=False)

    def require_devices(self) -> None:
        """Refuse a plan against which nothing can be audited.

        Raises:
            PlanError: it has no devices.
        """
        if not self.data.devices:
            what = "the plan has no devices, so there is nothing to audit: list them under devices"
            raise PlanError([self.problem(("devices",), what)])

    def problem(self, path: KeyPath, message: str) -> Problem:
        """Return what is said of a place in the file."""
        return _problem(self.tree, path, message)

    def subnet_of(self, vlan: int) -> tuple[str, Subnet] | None:
        """Return name and entry of the subnet of a VLAN."""
        return next(((name, subnet) for name, subnet in self.data.subnets.items() if subnet.vlan == vlan), None)

    def link_ends(self) -> list[tuple[tuple[str, str], tuple[str, str]]]:
        """Return device and port of both ends of each link, the ports by their canonical names."""
        return [(self._end(one), self._end(other)) for one, other in self.data.links]

    def _end(self, text: str) -> tuple[str, str]:
        device, _, port = text.partition(" ")
        return device, names_of(self.data.devices[device].platform).canonical(port)

    def gateway_of(self, subnet: Subnet) -> str | None:
        """Return the device that routes a subnet."""
        return subnet.gateway.on or self.data.defaults.gateway


def load(path: str | Path) -> Plan:
    """Read a plan file (YAML, or a workbook by its ending ``.xlsx``).

    Raises:
        PlanError: it cannot be read, or something in it is wrong; everything that is wrong is in it.
    """
    name = str(path)
    try:
        data = read_bytes(Path(path), MAX_BYTES)
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        why = getattr(error, "strerror", None) or error
        raise PlanError([Problem(name, 0, "", f"cannot be read: {why}")]) from error
    return parse(name, data)


def parse(name: str, data: bytes) -> Plan:
    """Read a plan from bytes; ``name`` stands in errors and reports, and its ending tells the format.

    Raises:
        PlanError: something in it is wrong.
    """
    if name.lower().endswith(".xlsx"):
        tree = workbook.parse(data, name)
    else:
        try:
            tree = yamltree.parse(data.decode("utf-8-sig"), name)
        except UnicodeDecodeError as error:
            line = data[: error.start].count(b"\n") + 1
            raise PlanError([Problem(name, line, "", "not valid UTF-8")]) from error
    problems = [
        Problem(tree.written(p.path).file, p.line, _dotted(p.path), p.message, tree.sheet(p.path))
        for p in tree.problems
    ]
    if not isinstance(tree.value, dict):
        problems = problems or [_problem(tree, (), "expected a plan: format, site, subnets, devices")]
        raise PlanError(problems)
    plan_file, shape_problems = _validate(tree.value)
    left_out = [p.path for p in tree.problems if p.path]
    problems += [_problem(tree, path, message) for path, message in shape_problems if path not in left_out]
    if plan_file is None:
        raise PlanError(problems)
    ports, reference_problems = references.check(plan_file, tree.value)
    told = [*left_out, *(path for path, _ in shape_problems)]
    for path, message in reference_problems:
        if not any(other[: len(path)] == path for other in told):
            problems.append(_problem(tree, _in_file(path, tree.value), message))
    if problems:
        raise PlanError(problems)
    return Plan(name, hashlib.sha256(data).hexdigest(), plan_file, ports, tree, data)


def _problem(tree: YamlTree, path: KeyPath, message: str) -> Problem:
    """Return what is wrong with a value, and where it was written."""
    written = tree.written(path)
    return Problem(written.file, written.line, _dotted(path), message, written.sheet)


def _dotted(path: KeyPath) -> str:
    return ".".join(str(part) for part in path)


def _validate(value: dict[str, Any]) -> tuple[PlanFile | None, list[tuple[KeyPath, str]]]:
    """Check the shape. Entries that are wrong are set aside, so that the rest can be checked further."""
    found: dict[KeyPath, str] = {}
    rest = _copy(value)
    for _ in range(20):
        try:
            return PlanFile.model_validate(rest), list(found.items())
        except ValidationError as error:
            gone: list[KeyPath] = []
            for part in error.errors():
                path, message = _explain(tuple(part["loc"]), dict(part), value)
                if not any(other[: len(path)] == path for other in found):
                    found[path] = message
                if not any(path[: len(other)] == other for other in gone):
                    gone += _set_aside(rest, path)
    return None, list(found.items())


def _copy(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copy(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_copy(item) for item in value]
    return value


_STAND_INS: dict[str, Any] = {
    "format": 1,
    "site": "?",
    "security": "open",
    "role": "core",
    "reason": "?",
    "approved_by": "?",
    "until": "9999-12-31",
    "device": references.SET_ASIDE,
    "setting": references.SET_ASIDE,
}
"""Values that stand in for wrong or missing ones, by key, while the rest of their entry is checked further."""


def _set_aside(value: Any, path: KeyPath) -> list[KeyPath]:
    """Take a wrong value out of the data with as little around it as can be; return what is gone."""
    for length in range(len(path), 0, -1):
        here = path[:length]
        holder = _at(value, here[:-1])
        key = here[-1]
        if isinstance(holder, dict) and key in _STAND_INS and key in _known_keys(here[:-1]):
            holder[key] = _STAND_INS[str(key)]
            return []
        if isinstance(holder, dict) and key in holder and not _is_required(here):
            del holder[key]
            return [here]
        if isinstance(holder, list) and here[:-1] in (("links",), ("deviations",)):
            stand_in = {name: _STAND_INS[name] for name in _STAND_INS if name in _known_keys(here)}
            holder[int(key)] = stand_in or [references.SET_ASIDE] * 2
            return [here]
    return []


def _at(value: Any, path: KeyPath) -> Any:
    for step in path:
        try:
            value = value[step]
        except (KeyError, IndexError, TypeError):
            return None
    return value


def _is_required(path: KeyPath) -> bool:
    """Return whether the schema has a field of this name here that must be there."""
    info = _field(path)
    return info is not None and info.is_required()


def _explain(path: KeyPath, error: dict[str, Any], value: Any) -> tuple[KeyPath, str]:
    """Return the place of an error in the file, and a sentence that says what was expected."""
    path = _in_file(path, value)
    kind, context = error["type"], error.get("ctx", {})
    given = "text" if len(path) == 2 and path[0] == "wifi" else shown(error.get("input"))
    word = error.get("input")
    match kind:
        case "plan":
            return path, str(context["message"])
        case "missing":
            return path, f"the key {path[-1]!r} is missing"
        case "too_short" | "too_long":
            return path, f"expected a list of {context.get('min_length', context.get('max_length'))}"
        case "extra_forbidden":
            known = _known_keys(path[:-1])
            listed = " Several values need brackets: [a, b]." if word is None else ""
            return path, f"unknown key{_did_you_mean(str(path[-1]), known)}{listed} Known here: {', '.join(known)}"
        case "literal_error":
            known = [word.strip("'") for word in str(context["expected"]).replace(" or ", ", ").split(", ")]
            return path, f"expected one of {', '.join(known)}, not {given}{_did_you_mean(str(word), known)}"
        case "greater_than_equal" | "less_than_equal":
            limit = f"at least {context['ge']}" if "ge" in context else f"at most {context['le']}"
            return path, f"expected a number of {limit}, not {given}"
        case "int_parsing" | "int_type" | "int_from_float":
            return path, f"expected a whole number, not {given}"
        case "bool_parsing" | "bool_type":
            return path, f"expected true or false, not {given}"
        case "string_type":
            return path, f"expected text, not {given}"
        case "list_type" | "tuple_type":
            return path, f"expected a list, not {given}"
        case "dict_type" | "model_type" | "model_attributes_type":
            return path, f"expected keys and values, not {given}"
    return path, str(error["msg"])


def _in_file(path: KeyPath, value: Any) -> KeyPath:
    """Cut what the checker adds to a path off: only steps that lead into the file are kept, and one more."""
    kept: list[str | int] = []
    for step in path:
        if step == "[key]":
            break
        if isinstance(value, dict):
            text = str(step)
            kept.append(text)
            if text not in value:
                break
            value = value[text]
        elif isinstance(value, list) and isinstance(step, int) and step < len(value):
            kept.append(step)
            value = value[step]
        elif isinstance(value, list):
            continue
        else:
            break
    return tuple(kept)


def _known_keys(path: KeyPath) -> list[str]:
    """Return the keys that an entry may have, by walking the schema along its path."""
    kind = _kind(path)
    return list(kind.model_fields) if _is_model(kind) else []


def _field(path: KeyPath) -> FieldInfo | None:
    """Return the schema's field at a path, where one of that name is known."""
    kind = _kind(path[:-1])
    return kind.model_fields.get(str(path[-1])) if _is_model(kind) else None


def _kind(path: KeyPath) -> Any:
    """Return the model, mapping or list that the schema has at a path."""
    kind: Any = PlanFile
    for step in path:
        if _is_model(kind):
            info = kind.model_fields.get(str(step))
            kind = info.annotation if info else None
        else:
            kind = (get_args(kind) or (None,))[-1]
        kind = _model_in(kind)
    return kind


def _is_model(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def _model_in(kind: Any) -> Any:
    """Return the model within an optional or annotated type; a mapping or list as it is."""
    if get_origin(kind) in (dict, list) or _is_model(kind):
        return kind
    for argument in get_args(kind):
        found = _model_in(argument)
        if found is not None:
            return found
    return None


def _did_you_mean(word: str, known: Iterable[str]) -> str:
    words = list(known)
    short = "".join(part[0] for part in word.split())
    near = (
        [other for other in words if other == short]
        or [other for other in words if other.startswith(word)]
        or difflib.get_close_matches(word, words, 1, 0.5)
    )
    return f": did you mean {near[0]}?" if near else "."
