"""The shape of ``templates/platforms/<name>/platform.yaml``. Every key is explained here, and only here.

Those under ``live`` are in live.py, those under ``correction`` in proposals.py. A pattern is a regular expression that
must match from the first to the last character; those of ``noise``, ``refusal`` and ``audited`` need match only
the beginning. Named groups in capital letters in ``opens`` fill the field of the same name in the section's
row, as a TextFSM Value does.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache, cached_property
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from auditor.core.state import Setting
from auditor.core.values import NO_VLANS, VlanSet
from auditor.platforms.bridging import BridgingModel
from auditor.platforms.gaps import Gaps
from auditor.platforms.leasing import RANGES, LeasingModel
from auditor.platforms.live import Live, PromptLine, over_ssh
from auditor.platforms.proposals import CorrectionRules
from auditor.platforms.secrets import SecretsWithin
from auditor.platforms.shape import LineKind, OverridingLines, Part, Patterns, Reasons, SettingPlace

GroupWord = Literal["groups", "apply", "except", "range", "apart"]
"""What a layout's ``inherits`` has words for."""


class Layout(Part):
    """How lines form sections.

    Attributes:
        kind: which of auditor.reading.layouts cuts the text; alone, it may stand for the whole. ``indented`` blocks,
            ``statements`` of key=value, ``uci``; trees of blocks in ``braces`` (or ``set`` with all words) or between
            ``words``; a ``table`` below a line with the names of its columns.
        literals: text that is no configuration, as a banner or a certificate: what opens it, and what closes it. A
            group ``end`` in the first is the delimiter, which stands in the second as ``{end}``; where the line that
            opens it holds the delimiter twice, the text ends there.
        runs_away: sections behind which a device goes on too deep; what opens a section there, does so at the margin.
        block_end: of indented lines, the word that each block ends with, as deep as its own lines.
        once: of lines at the margin, what several cannot begin alike with: a later one has taken the place of the
            earlier.
        outer: of a tree, the words of blocks that stand around everything and are not said by rules. Where one of them
            stands, a whole configuration has one of each kind, and something in each.
        rows: of statements, menus that have no rows but those that ``add`` makes and these of the device's own, in the
            order of their numbers: a later ``set`` changes one of them, or is about nothing.
        inherits: of a tree, how statements are called that are written once in a group and hold where it is applied:
            ``groups`` holds the groups, ``apply`` and ``except`` apply one and keep one away, ``range`` makes ranges of
            names of their ``member…`` words; groups whose name matches ``apart`` are none.
    """

    kind: Literal["indented", "statements", "uci", "braces", "words", "table"]
    literals: dict[str, str] = {}
    runs_away: Patterns = []
    block_end: str = ""
    once: Patterns = []
    outer: Patterns = []
    rows: dict[str, list[str]] = {}
    inherits: Mapping[GroupWord, str] = {}

    @model_validator(mode="before")
    @classmethod
    def _of_kind(cls, told: Any) -> Any:
        return {"kind": told} if isinstance(told, str) else told


class SectionRule(Part):
    """Which sections a template owns.

    Attributes:
        opens: what the section's first line looks like.
        template: file name of the template without ``.textfsm``; what stands before a dot is the feature.
        whole: the first line is read by the template, too.
        values: what the section says of itself without a line, by field in small letters; ``{name}`` stands for what
            the first line says of that field, or that of a section around it, ``{around}`` for the words of the blocks
            around everything, or for the first line of the section that one of ``sections`` stands in.
        harmless: its lines that are known and can change nothing that is audited or said, by their reason.
        blocks: the same, where such a line opens a block of its own that is harmless with all in it.
        limits: its lines that can block a service without changing what is planned, by their reason; the template may
            read them all the same.
        overriding: its lines that can make an audited setting untrue.
        flat: lines that belong to the section though they are not indented.
        lists: options of such sections whose value is a list cut at blanks.
        implied: of a tree, the section is there wherever one stands within it, though no line may be its own.
        sections: those that stand in the body of such sections, their own lines deeper.
    """

    opens: Patterns
    template: str
    whole: bool = False
    values: dict[str, str] = {}
    harmless: Reasons = {}
    blocks: Reasons = {}
    limits: Reasons = {}
    overriding: list[OverridingLines] = []
    flat: str = r"(?!)"
    lists: list[str] = []
    implied: bool = False
    sections: list[SectionRule] = []

    @property
    def feature(self) -> str:
        """The row model that the template fills."""
        return self.template.partition(".")[0]

    @property
    def every_section(self) -> list[SectionRule]:
        """This rule, and those of the sections within, however deep."""
        return [self, *(inner for rule in self.sections for inner in rule.every_section)]


class Default(Part):
    """What a line that is not there means: ``values`` of rows, where ``when`` occurs in the capture.

    ``where`` restricts it to rows (for interfaces: to the merged interface) with these values, texts being patterns; an
    interface that it names is there though no line says so.
    """

    when: str | None = None
    where: dict[str, Any] = {}
    values: dict[str, Any]


class InterfaceRules(Part):
    """Names of interfaces.

    Attributes:
        names: the long names; shorter spellings of them are read, whatever their case.
        kinds: what an interface is, by the first pattern that its name matches; otherwise a port. No interface has a
            name of the kind ``impossible``: a line with one is not understood. Groups ``parent``,
            ``vlan_tag``, ``vid`` and ``bridge_id`` are kept. A bundle whose name has a group ``counted`` is there only
            if that number is below the device's ``bundle_count``. A group ``whole`` around all of a pattern: what it
            matches is a name, though it looks like a range of names, or like no name. A group ``made``: an interface of
            such a name is there because a line makes it, so a line that names one which none makes is not understood.
            A group ``apart``: such a port can be in no VLAN, as one for the management alone, and no rule of a plan
            puts it into one.
        silent: a configuration may leave out a port at its defaults; ``explicit``: and in a capture that leaves none
            out, one that is on says so. ``every``: it has lines of each port, and ports of all sorts are counted
            together.
        ranges: names are numbers, or letters and numbers (``24``, ``A4``, ``1/24``); first lines and lists of ports
            hold ranges of them, in which each piece stands for itself: ``A1-A4,7`` ends with port 7.
    """

    names: list[str] = []
    kinds: dict[str, str] = {}
    silent: bool | Literal["explicit"] = False
    every: bool = False
    ranges: bool = False


def _nameless(told: Any) -> Any:
    """Take numbers of VLANs for VLANs without names, and refuse numbers that no VLAN has."""
    found = told if isinstance(told, dict) else dict.fromkeys(VlanSet.parse(str(told)), "")
    VlanSet.parse(",".join(map(str, found)))
    return found


class VlanTable(Part):
    """How the dialect keeps its VLANs.

    Attributes:
        built_in: VLANs that are there by themselves, whether a line makes them or not, with the names that they have
            until they are renamed; or as a list of numbers, where they have none.
        shown_by: VLANs of which one must be declared for the configuration to count as showing them without a command
            that ``shows`` them.
        default_names: how a VLAN is called that has no name, made of {vid}.
    """

    built_in: Annotated[dict[int, str], BeforeValidator(_nameless)] = {}
    shown_by: VlanSet = NO_VLANS
    default_names: str | None = None


class Command(Part):
    """A read-only command whose answer is part of a capture, where that says more than that it is one.

    Attributes:
        layout, sections: those of its answer, where they are not the platform's.
        shows: areas, or fields of them, that a capture shows only with this answer: for each, what opens a section that
            shows it. ``ports.unlisted`` are ports that no plan lists: they are needed where a plan has a rule for them.
        save: what to save where it is not there; the command's output if unsaid.
    """

    layout: Layout | None = None
    sections: list[SectionRule] = []
    shows: dict[SettingPlace, Patterns] = {}
    save: str = ""

    @cached_property
    def shown_by(self) -> dict[Setting, list[re.Pattern[str]]]:
        """The patterns of ``shows``."""
        return {setting: [re.compile(pattern) for pattern in opens] for setting, opens in self.shows.items()}


def _with_known_forms(words: dict[str, dict[str, str]]) -> dict[str, dict[str, str]]:
    """Refuse a form of passphrases that nothing here knows."""
    unknown = set(words.get("passphrase", {}).values()) - {"plain", "type7", "irreversible"}
    if unknown:
        raise ValueError(f"passphrase: {', '.join(sorted(unknown))} is no form in which a passphrase is stored")
    return words


def _commands(told: Any) -> Any:
    """Take a command of which nothing more is said for one without anything of its own."""
    return {line: own or {} for line, own in told.items()} if isinstance(told, dict) else told


class Platform(Part):
    """One platform's data.

    Attributes:
        name: the folder's name, which is netmiko's device type, or that of a device with a plain shell.
        like: another platform whose data hold where this one's are silent, and whose templates where it has none.
        also: other device types of netmiko that speak it; a plan may name either.
        about: what devices speak it, in a few words.
        real_configurations: how many devices' configurations by other people it was read against.
        commands: the read-only commands whose answers make a whole capture, the configuration first.
        layout, sections: how the first one's answer is cut, and which template owns what; so are those of all others
            that have no sections of their own.
        live: how it is read over SSH.
        lines: what a line is that is no configuration, by one of the words of LineKind in auditor/platforms/shape.py.
        outside: first lines of sections of no audited area, by their reason; with all below them. What is in no list
            is not understood.
        harmless, limits, overriding: first lines of sections that nothing reads, as in a section's rule; with all
            below them.
        words: by field, the dialect's words (patterns) and ours; ``=`` leaves a word as it is. Three tables are for no
            field: ``security`` and ``band`` of Wi-Fi, and ``passphrase``, the form in which one is stored: ``plain``,
            ``type7`` or ``irreversible``.
        secrets: what comes before a secret (first group) and the secret (second), where its name and look do not tell;
            or the same in sections of some kind alone, whose keys are told in auditor/platforms/secrets.py.
        interfaces, vlans: names of interfaces, and how VLANs are kept.
        defaults: by feature, what lines that are not there mean.
        lacks: settings of which the dialect has no notion, and why (auditor/platforms/gaps.py): they are not expected.
            A lack of some values alone is judged: a device that cannot be as planned is not. Review refuses both.
        cannot: settings that the devices have and our templates can neither read nor write: they are unverified.
        bridging: what its devices do with frames, by the name of a model in auditor/platforms/bridging.py.
        dhcp: how its DHCP server thinks, by the name of a model in auditor/platforms/leasing.py; ``ranges`` if unsaid.
        cannot_show: what no capture of it shows, and why.
        correction: what proposals to restore the plan need.
    """

    name: Annotated[str, AfterValidator(over_ssh)]
    like: str = ""
    also: list[str] = []
    about: str
    real_configurations: int = 0
    commands: Annotated[dict[PromptLine, Command], BeforeValidator(_commands)]
    live: Live = Live()
    layout: Layout
    lines: dict[LineKind, Patterns] = {}
    outside: Reasons = {}
    harmless: Reasons = {}
    limits: Reasons = {}
    overriding: list[OverridingLines] = []
    sections: list[SectionRule]
    words: Annotated[dict[str, dict[str, str]], AfterValidator(_with_known_forms)] = {}
    secrets: list[SecretsWithin | str] = []
    interfaces: InterfaceRules = InterfaceRules()
    vlans: VlanTable = VlanTable()
    bridging: BridgingModel
    dhcp: LeasingModel = RANGES
    defaults: dict[str, list[Default]] = {}
    lacks: Gaps = Field(default_factory=dict)
    cannot: Gaps = Field(default_factory=dict)
    cannot_show: dict[str, str] = Field(default_factory=dict)
    correction: CorrectionRules = CorrectionRules()

    def patterns(self, kind: LineKind) -> list[str]:
        """Return what lines of a kind look like."""
        return self.lines.get(kind, [])

    def pattern(self, kind: LineKind) -> str:
        """Return the same as one pattern, which matches nothing where there is none."""
        found = self.patterns(kind)
        return found[0] if len(found) == 1 else "|".join(f"(?:{pattern})" for pattern in found) or r"(?!)"

    @property
    def secrets_anywhere(self) -> list[str]:
        """The patterns of secrets that hold in all sections."""
        return [rule for rule in self.secrets if isinstance(rule, str)]

    @property
    def secrets_within(self) -> list[SecretsWithin]:
        """What is secret in sections of some kind alone."""
        return [rule for rule in self.secrets if not isinstance(rule, str)]

    @property
    def every_section(self) -> list[SectionRule]:
        """The rules of all commands' answers."""
        outermost = [*self.sections, *(rule for command in self.commands.values() for rule in command.sections)]
        return [inner for rule in outermost for inner in rule.every_section]

    def as_answered(self, command: Command) -> Platform:
        """Return the platform as it answers a command with sections of its own."""
        return self.model_copy(update={"layout": command.layout or self.layout, "sections": command.sections})


def any_of(patterns: list[str]) -> re.Pattern[str]:
    """Return one pattern that matches where one of these does; none of them, where there are none."""
    return _compiled("|".join(f"(?:{pattern})" for pattern in patterns) or r"(?!)")


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    """Python keeps 512 patterns, which several platforms together exceed."""
    return re.compile(pattern, re.IGNORECASE)
