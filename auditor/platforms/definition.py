"""The shape of ``templates/platforms/<name>/platform.yaml``. Every key is explained here, and only here.

Those under ``live`` are in live.py, those under ``correction`` in proposals.py. A pattern is a regular expression that
must match from the first to the last character; those under ``noise``, ``refusals``, ``audited`` and ``verbatim`` need
match only the beginning. Named groups in capital letters in ``opens`` fill the field of the same name in the section's
row, as a TextFSM Value does.
"""

from __future__ import annotations

import re
from functools import cache, cached_property
from typing import Any, Literal

from pydantic import Field

from auditor.core.values import NO_VLANS, VlanSet
from auditor.platforms.bridging import BridgingModel
from auditor.platforms.live import Live, PromptLine
from auditor.platforms.proposals import CorrectionRules
from auditor.platforms.secrets import SecretsWithin
from auditor.platforms.shape import Listed, Part, Patterns, SettingPlace


class LiteralText(Part):
    """Text that is no configuration: a banner, a certificate. It runs to a line that ``closes`` matches.

    A group ``end`` in ``opens`` is the delimiter; it stands in ``closes`` as ``{end}``. Where the line that opens
    it holds the delimiter twice, the text ends there.
    """

    opens: str
    closes: str


class Layout(Part):
    """How lines form sections.

    Attributes:
        kind: which of auditor.reading.layouts cuts the text.
        comment: what a comment begins with, to the letter.
        closes: lines that end a block, to the letter.
        verbatim: lines in which runs of blanks mean something.
        literals: text that is no configuration.
        runs_away: sections behind which a device goes on too deep; what opens a section there, does so at the margin.
        blocks: of a tree, how blocks are written: in ``braces`` (or ``set`` with all words), or between ``words``.
        outer: of a tree, the words of blocks that stand around everything and are not said by rules.
        inactive: of a tree, the word in front of what is switched off as if it were not there.
        rows: of statements, menus that have no rows but those that ``add`` makes and these of the device's own, in the
            order of their numbers: a later ``set`` changes one of them, or is about nothing.
    """

    kind: Literal["indented", "statements", "uci", "tree"]
    comment: Listed
    closes: Listed = []
    verbatim: Listed = []
    literals: list[LiteralText] = []
    runs_away: Patterns = []
    blocks: Literal["braces", "words"] = "braces"
    outer: Patterns = []
    inactive: str = ""
    rows: dict[str, list[str]] = {}


class SectionRule(Part):
    """Which sections a template owns.

    Attributes:
        opens: what the section's first line looks like.
        template: file name of the template without ``.textfsm``; what stands before a dot is the feature.
        whole: the first line is read by the template, too.
        values: what the section says of itself without a line, by field in small letters; ``{name}`` stands for what
            the first line says of that field, ``{around}`` for the words of the blocks around everything.
        ignores: lines of such sections that are knowingly not audited.
        flat: lines that belong to the section though they are not indented.
        lists: options of such sections whose value is a list cut at blanks.
        implied: of a tree, the section is there wherever one stands within it, though no line may be its own.
        within: the section stands in the body of those that this template owns, its own lines deeper.
        listing: the section is the answer to another command and has blank-separated columns; one of VLANs shows all.
    """

    opens: Patterns
    template: str
    whole: bool = False
    values: dict[str, str] = {}
    ignores: Patterns = []
    flat: str = r"(?!)"
    lists: list[str] = []
    implied: bool = False
    within: str = ""
    listing: bool = False

    @property
    def feature(self) -> str:
        """The row model that the template fills."""
        return self.template.partition(".")[0]


class Default(Part):
    """What a line that is not there means: fields of a feature's rows, where ``when`` occurs in the capture.

    ``where`` restricts it to rows (for interfaces: to the merged interface) with these values.
    """

    feature: str
    when: str | None = None
    where: dict[str, Any] = {}
    fields: dict[str, Any]


class KindRule(Part):
    """What an interface is, by its name. Groups ``parent``, ``vlan_tag``, ``vid`` and ``bridge_id`` are kept.

    A bundle whose name has a group ``counted`` is there only if that number is below the device's ``bundle_count``.
    """

    kind: str
    name: str


class InterfaceRules(Part):
    """Names of interfaces.

    Attributes:
        names: the long names; shorter spellings of them are read, whatever their case.
        kinds: what an interface is, the first rule that matches; otherwise a port.
        whole: names that look like ranges of names, or like no names, and are names all the same.
        silent: a configuration may leave out a port at its defaults.
        ranges: names are numbers, or letters and numbers (``24``, ``A4``, ``1/24``); first lines and lists of ports
            hold ranges of them, in which each piece stands for itself: ``A1-A4,7`` ends with port 7.
    """

    names: list[str] = []
    kinds: list[KindRule] = []
    whole: str = r"(?!)"
    silent: bool = False
    ranges: bool = False


class VlanTable(Part):
    """How the dialect keeps its VLANs.

    Attributes:
        built_in: VLANs that are there by themselves, whether a line makes them or not.
        built_in_names, lasting_names: their names until they are renamed, and those that cannot be renamed.
        shown_by: VLANs of which one must be declared for the configuration to count as showing them; empty: it does.
        default_names: how a VLAN is called that has no name, made of {vid}.
        save: what to save beside the configuration where it does not show them.
    """

    built_in: VlanSet = NO_VLANS
    built_in_names: dict[int, str] = {}
    lasting_names: VlanSet = NO_VLANS
    shown_by: VlanSet = NO_VLANS
    default_names: str | None = None
    save: str = ""


class DhcpServer(Part):
    """How the dialect's DHCP server thinks.

    Attributes:
        pools: ``ranges`` are given, or a scope gives out the whole ``network`` but what is excluded.
        own: fields that a scope fills with the server's own address where it says nothing.
        prefix_said: a scope that does not say its prefix gives out nothing, whatever addresses are in it.
        by_interface: in the prefix of an interface, a scope is served only if the interface says so (``dhcp_server``).
        option_fields: DHCP options (RFC 2132 numbers) that the dialect uses for what is a field of a scope here.
    """

    pools: Literal["ranges", "network"] = "ranges"
    own: list[Literal["gateway", "dns"]] = []
    prefix_said: bool = False
    by_interface: bool = False
    option_fields: dict[int, Literal["gateway", "dns", "domain"]] = {}


class Shown(Part):
    """An area, or a field of one, that a capture shows only if one of these sections is in it.

    ``ports.unlisted`` are ports that no plan lists: they are needed where a plan has a rule for them.
    """

    setting: SettingPlace
    by: Patterns
    save: str

    @cached_property
    def patterns(self) -> list[re.Pattern[str]]:
        """What opens a section that shows it."""
        return [re.compile(pattern) for pattern in self.by]


class Platform(Part):
    """One platform's data.

    Attributes:
        name: the folder's name, which is netmiko's device type.
        like: another platform whose data hold where this one's are silent, and whose templates where it has none.
        also: other device types of netmiko that speak it; a plan may name either.
        about: what devices speak it, in a few words.
        real_configurations: how many devices' configurations by other people it was read against.
        commands: the read-only commands whose answers make a whole capture.
        live: how it is read over SSH.
        prompt: what a prompt looks like; ``noise``: lines that are no configuration wherever they stand.
        refusals: answers of a device that refuses a command.
        read_on: lines that a device prints when it is read, with groups ``year``, ``month`` (a number, or three letters
            of its English name) and ``day`` of its clock; a date of change is none. Comments or noise, whole lines.
        interrupted: lines by which a device says that it stopped in the middle.
        scripts: what a statement looks like that sets a device up and is no configuration of one.
        ends_with: the line that a complete configuration ends with; empty where the dialect has none.
        ends_below: lines below the last of which that line must stand, where it also stands elsewhere.
        audited: first lines that belong to an audited area; an unknown one is reported as not understood.
        ignored: first lines, with all below them, that are knowingly not audited.
        sections: which template owns what.
        shown: what a capture shows only under a condition.
        words: by field, the dialect's words (patterns) and ours; ``=`` leaves a word as it is.
        passphrases: by the form in which one is stored: ``plain``, ``type7`` or ``irreversible``.
        secrets: what comes before a secret (first group) and the secret (second), where its name and look do not tell.
        secrets_within: the same in sections of some kind alone; its keys are told in auditor/platforms/secrets.py.
        defaults: what lines that are not there mean.
        lacks: settings of which the dialect has no notion; they are not expected.
        bridging: what its devices do with frames, by the name of a model in auditor/platforms/bridging.py.
        cannot_show: what no capture of it shows, and why.
        correction: what proposals to restore the plan need.
    """

    name: str
    like: str = ""
    also: list[str] = []
    about: str
    real_configurations: int = 0
    commands: list[PromptLine]
    live: Live = Live()
    layout: Layout
    prompt: str = r"(?!)"
    noise: Patterns = []
    read_on: Patterns = []
    refusals: Patterns = []
    interrupted: Patterns = []
    scripts: Patterns = []
    ends_with: str = ""
    ends_below: str = r"(?!)"
    audited: Patterns = []
    ignored: Patterns = []
    sections: list[SectionRule]
    shown: list[Shown] = []
    words: dict[str, dict[str, str]] = {}
    passphrases: dict[str, Literal["plain", "type7", "irreversible"]] = {}
    secrets: Patterns = []
    secrets_within: list[SecretsWithin] = []
    interfaces: InterfaceRules = InterfaceRules()
    vlans: VlanTable = VlanTable()
    bridging: BridgingModel
    dhcp: DhcpServer = DhcpServer()
    defaults: list[Default] = []
    lacks: list[SettingPlace] = []
    cannot_show: dict[str, str] = Field(default_factory=dict)
    correction: CorrectionRules = CorrectionRules()


def any_of(patterns: list[str]) -> re.Pattern[str]:
    """Return one pattern that matches where one of these does; none of them, where there are none."""
    return _compiled("|".join(f"(?:{pattern})" for pattern in patterns) or r"(?!)")


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    """Python keeps 512 patterns, which several platforms together exceed."""
    return re.compile(pattern, re.IGNORECASE)
