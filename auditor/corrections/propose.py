"""A correction for each finding: the platform's template is asked for the commands, and for their undo."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import BaseModel

from auditor.areas import Reading
from auditor.compare.judge import Judgement
from auditor.core.addresses import interface_address
from auditor.core.domains import domain
from auditor.core.report import Correction, Finding
from auditor.core.state import Setting
from auditor.corrections.cautions import Cautions
from auditor.corrections.change import Change, change_of, gone_addresses
from auditor.corrections.facts import Facts
from auditor.corrections.options import Options
from auditor.corrections.position import Position
from auditor.corrections.rows import Rows
from auditor.corrections.statements import Statements
from auditor.corrections.withheld import BY_HAND, DeviceContext, Withheld, say
from auditor.corrections.writer import Writer
from auditor.errors import RenderError
from auditor.plan.loader import Plan
from auditor.platforms import catalogue
from auditor.platforms.pieces import FILE, pieces_of
from auditor.platforms.render import Unwritable, render_lines
from auditor.redact import REDACTED

__all__ = ["BY_HAND", "TEMPLATE", "with_corrections"]

TEMPLATE = FILE


class _NoCorrection(Exception):  # noqa: N818 - no error: carries the reason to the one place that notes it
    pass


@dataclass(slots=True)
class TemplateNotes:
    """What a template says beside its commands; each function leaves nothing in the text."""

    planned: Callable[[str], Iterable[object]]
    settles: list[Setting] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)

    def also(self, area: str, key: object = "", *names: str) -> str:
        """Say that the commands settle other settings, too, if they are findings; ``*``: those of each planned item."""
        keys = self.planned(area) if key == "*" else key if isinstance(key, list) else [key]
        self.settles += [Setting(area, str(each), name) for each in keys for name in names or ("",)]
        return ""

    def by_hand(self, reason: str = "") -> str:
        """Leave it at the reason why there is no correction, in words or by their name in ``BY_HAND``."""
        raise _NoCorrection(BY_HAND.get(reason or "nothing", reason))

    def withheld(self, reason: str, /, **values: object) -> str:
        """Do the same by the name of a reason in ``withheld/words.py``, with its values."""
        return self.by_hand(say(reason, **values))

    def caution(self, name: str) -> str:
        """Ask for one of the cautions by its name."""
        self.cautions.append(name)
        return ""


def _refuse(reason: str) -> None:
    """Leave it at a reason, where there is one."""
    if reason:
        raise _NoCorrection(reason)


def with_corrections(plan: Plan, judgement: Judgement, reading: Reading, findings: list[Finding]) -> list[Finding]:
    """Return a device's findings, each with a correction or the reason why it has none.

    Args:
        plan: the plan that was audited against.
        judgement: what became of the device's planned settings.
        reading: what was read of it.
        findings: its findings.
    """
    if not findings or judgement.pair is None:
        return findings
    ways = _Ways(plan, judgement, reading)
    return [finding.model_copy(update=ways.of(finding)) for finding in findings]


class _Ways:
    def __init__(self, plan: Plan, judgement: Judgement, reading: Reading) -> None:
        assert judgement.pair is not None
        self.pair = judgement.pair
        self.expected = judgement.pair.expected
        self.judgement = judgement
        self.reading = reading
        self.platform = catalogue.get(self.expected.platform)
        position = Position(plan, self.expected.device)
        self.cautions = Cautions(plan, position, self.platform)
        self.mismatches = {mismatch.setting: mismatch for mismatch in judgement.mismatches}
        self.withheld = Withheld(DeviceContext(judgement.pair, reading, self.platform, position, self.mismatches))
        self.headers = [block.header for block in reading.blocks]
        self.known = catalogue.has_template(self.platform.name, TEMPLATE)

    def of(self, finding: Finding) -> dict[str, Any]:
        """Return what a finding gains."""
        try:
            return {"correction": self.correction(finding.place)}
        except _NoCorrection as why:
            return {"correction": Correction(by_hand=str(why))}

    def lacking(self, setting: Setting) -> str:
        """Return why a device cannot have what is planned, and is judged all the same; an empty text where it can."""
        lacking = ((place, why) for place, why in self.expected.lacking.items() if setting in (place, place.item))
        return next((why for place, why in lacking if place in self.expected.settings), "")

    def correction(self, setting: Setting) -> Correction:
        if setting.field == "passphrase_matches":
            raise _NoCorrection(BY_HAND["passphrase"])
        _refuse(self.lacking(setting))
        if setting.area == "ports" and not setting.field:
            raise _NoCorrection(BY_HAND["port"])
        if not self.known:
            raise _NoCorrection(BY_HAND["no template"])
        if self.is_apart(setting):
            raise _NoCorrection(BY_HAND["vrf"])
        routed = setting.area == "gateways" and domain(setting.key) in self.expected.routed
        if routed and not self.reading.routing_in(self.pair.vrf):
            return self.routing(setting)
        if setting.item in self.reading.ineffective:
            raise _NoCorrection(BY_HAND["no zone" if self.reading.zoned else "ineffective"])
        if not self.reading.blocked.isdisjoint((setting, setting.item)):
            raise _NoCorrection(BY_HAND["blocked"])
        if self.reading.is_inherited(setting):
            raise _NoCorrection(BY_HAND["inherited"])
        _refuse(self.withheld.by_bridge(self.mismatches[setting]))
        change = change_of(self.mismatches[setting], self.judgement, self.platform)
        if setting.area == "uplinks" and change.before and change.before.several:
            raise _NoCorrection(BY_HAND["several addresses"])
        if any(map(_controls, _texts((setting.key, change.before, change.item)))):
            raise _NoCorrection(BY_HAND["text"])
        said, aside = TemplateNotes(self.planned), TemplateNotes(self.planned)
        try:
            commands = self.rendered(change, said, undoing=False)
            undo = self.rendered(change.reversed(), aside, undoing=True)
        except _NoCorrection:
            _refuse(self.withheld.by_cause([change]))
            raise
        settles = [setting._replace(field=name) for name in change.fields if setting.field] + said.settles
        others = {*settles} & (self.mismatches.keys() - {setting})
        beneath = setting in self.reading.lower_layer_down and setting.area == "gateways"
        if beneath and not any((other.area, other.field) == ("ports", "enabled") for other in others):
            raise _NoCorrection(BY_HAND["beneath"])
        changes = [change, *self.changes(others)]
        _refuse(self.withheld.by_changes(changes))
        if not self.keeps_an_address(changes):
            raise _NoCorrection(BY_HAND["only address"])
        _refuse(self.withheld.by_cause(changes) or self.withheld.by_scope(changes))
        _refuse(self.withheld.by_commands(changes, commands, undo))
        cautions, always = self.cautions.of(changes, [*commands, *undo], said.cautions)
        return Correction(
            commands=commands, undo=undo, cautions=cautions, always=always, settles=sorted(map(str, others))
        )

    def is_apart(self, setting: Setting) -> bool:
        """Return whether an item, or the subnet that it leases in, is in another VRF than what it is routed to."""
        apart = self.pair.apart()
        gateways = [self.reading.state.gateways[domain(item.key)] for item in apart if item.area == "gateways"]
        nets = {str(interface_address(a).network) for each in gateways for a in each.addresses if "/" in a}
        return setting.item in apart or (setting.area == "dhcp" and setting.key in nets)

    def routing(self, setting: Setting) -> Correction:
        """Return what switches routing on again, which settles all gateways that are set up and do not route."""
        there = {Setting("gateways", str(vid)) for vid in self.reading.state.gateways}
        rules = self.platform.correction
        if setting not in there or rules.routing is None:
            raise _NoCorrection(BY_HAND["routing"])
        _refuse(self.withheld.routing())
        command, undo = rules.routing
        change = change_of(self.mismatches[setting], self.judgement, self.platform)
        routed = {Setting("gateways", str(vid)) for vid in self.expected.routed} - {setting}
        others = routed & there & self.mismatches.keys()
        cautions, always = self.cautions.of([change, *self.changes(others)], [command], ["whole"])
        to_mind = rules.routing_caution.items()
        first = [text for where, text in to_mind if any(re.fullmatch(where, header) for header in self.headers)]
        return Correction(
            commands=[command],
            undo=[undo],
            cautions=[*first, *cautions],
            always=always,
            settles=sorted(map(str, others)),
        )

    def changes(self, settled: Iterable[Setting]) -> list[Change]:
        """Return what other findings change that the same commands settle."""
        found = [self.mismatches[name] for name in sorted(settled, key=str)]
        there = [m for m in found if m.setting.field or m.setting.area != "ports"]
        return [change_of(mismatch, self.judgement, self.platform) for mismatch in there]

    def keeps_an_address(self, changes: list[Change]) -> bool:
        """Return whether an address stays that no proposal takes away, where these changes take one."""
        if not any(gone_addresses(change) for change in changes):
            return True
        state = changes[0].state
        places: dict[Setting, Any] = {Setting("gateways", str(vid)): item for vid, item in state.gateways.items()}
        places |= {Setting("uplinks", name): item for name, item in state.uplinks.items()}
        left = {place: item for place, item in places.items() if place not in self.mismatches}
        left |= {change.setting.item: change.item for change in changes if change.setting.item in places}
        return any(getattr(item, "method", None) or getattr(item, "addresses", ()) for item in left.values())

    def rendered(self, change: Change, said: TemplateNotes, *, undoing: bool) -> list[str]:
        """Return the commands that bring a change about."""
        try:
            lines = render_lines(self.platform.name, TEMPLATE, self.values(change, said, undoing=undoing))
        except Unwritable as text:
            raise _NoCorrection(BY_HAND["text"]) from text
        except RenderError as error:
            raise _NoCorrection(BY_HAND["broken"]) from error
        commands = [line for line in lines if line.strip()]
        if not commands:
            raise _NoCorrection(BY_HAND["nothing"])
        if any(REDACTED in line for line in commands):
            raise _NoCorrection(BY_HAND["secret"])
        if any(map(_controls, commands)):
            raise _NoCorrection(BY_HAND["text"])
        return commands

    def values(self, change: Change, said: TemplateNotes, *, undoing: bool) -> dict[str, Any]:
        """Return what a template gets; explained for authors in DEVELOPERS.md."""
        setting = change.setting
        pieces = pieces_of(self.platform.name)
        found, goal = (change.item, change.before) if undoing else (change.before, change.item)
        whole = "remove" if goal is None else "add"

        facts = Facts(change, change.planned if undoing else change.state, self.expected.state, self.reading)
        return {
            **self.written_by(pieces.style, facts, said, undoing=undoing),
            "entry": pieces.entry(f"{setting.area}.{setting.field or whole}", setting.area),
            "found": found,
            "goal": goal,
            "area": setting.area,
            "key": change.key,
            "field": setting.field,
            "fields": change.fields,
            "name": self.name(setting),
            "want": change.of(change.item),
            "have": change.of(change.before),
            "item": change.item,
            "before": change.before,
            "state": change.state,
            "planned": change.planned,
            "expected": self.expected.state,
            "role": self.expected.role,
            "undoing": undoing,
            **facts.values(),
            "also": said.also,
            "by_hand": said.by_hand,
            "withheld": said.withheld,
            "caution": said.caution,
        }

    def written_by(
        self, style: Mapping[str, Any], facts: Facts, said: TemplateNotes, *, undoing: bool
    ) -> dict[str, Any]:
        """Return what writes lines, statements or options, as the style of a dialect asks for."""
        functions: dict[str, Any] = Writer(style, undoing, facts.lines_of).values()
        if "known_by" in style:
            functions |= Statements(self.reading.blocks, undoing, style["known_by"], style.get("profiles", {})).values()
        if "word" in style:
            functions |= Rows(style["word"], self.reading.blocks).values()
        if "packages" in style:
            functions |= Options(self.reading.blocks, undoing, said.by_hand, style["packages"]).values()
        return functions

    def planned(self, area: str) -> Iterable[object]:
        """Return the keys of the planned items of an area."""
        return getattr(self.expected.state, area)  # type: ignore[no-any-return]

    def name(self, setting: Setting) -> str:
        """Return what the device calls the item: a port that was renamed by its name now."""
        renamed = self.reading.born_as if setting.area in ("ports", "uplinks") else {}
        return renamed.get(setting.key, setting.key)


def _texts(value: Any) -> Iterator[str]:
    """Yield all texts within a value."""
    if isinstance(value, BaseModel):
        value = value.model_dump(mode="json")
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _texts(str(key))
            yield from _texts(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _texts(item)


def _controls(text: str) -> bool:
    """Return whether something in a text could end a line, or be taken for anything but text."""
    return any(unicodedata.category(character) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") for character in text)
