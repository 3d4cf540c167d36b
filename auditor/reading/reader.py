"""Reading a capture: ``read(platform, sources)`` is the front door of this package."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from auditor.model.report import QuotedLine
from auditor.model.state import DeviceState, Setting, Vlan
from auditor.reading.dialect import Dialect, dialect
from auditor.reading.layouts import LAYOUTS
from auditor.reading.resolve.dhcp import Dhcp
from auditor.reading.resolve.facts import Defaults, Evidence, Fact, Facts, Ref, Remark
from auditor.reading.resolve.interfaces import Interfaces
from auditor.reading.resolve.layer2 import Layer2
from auditor.reading.resolve.layer3 import Layer3
from auditor.reading.resolve.ports import Ports
from auditor.reading.resolve.system import System
from auditor.reading.resolve.wifi import Passphrase, Wifi
from auditor.reading.sections import Section
from auditor.reading.source import AUDITED_KINDS, Kind, Lines, Source, lines_of
from auditor.redact import redact


@dataclass(slots=True)
class Reading:
    """What a capture shows of a device.

    Attributes:
        platform: the dialect it was read as.
        state: the observed settings.
        lines: the capture's files with the account of each line.
        problem: why this is no whole configuration; empty where it is one.
        not_shown: areas, or fields of them, that this capture cannot show, with what to save beside it.
        born_as: names that ports were born with, and their names now.
        passphrases: by Wi-Fi name, what is stored; secret.
        remarks: what was read and is no setting.
    """

    platform: str
    state: DeviceState
    lines: list[Lines]
    problem: str
    not_shown: dict[Setting, str]
    evidence: Evidence
    born_as: dict[str, str]
    passphrases: dict[str, list[Passphrase]]
    remarks: list[Remark] = field(default_factory=list)
    _redacted: dict[int, list[str]] = field(default_factory=dict)

    def quoted_not_understood(self) -> list[QuotedLine]:
        """Return the lines of audited areas that nobody could read, secrets taken out."""
        return [
            self._quote(source, number)
            for source, lines in enumerate(self.lines)
            for number in lines.numbered(Kind.NOT_UNDERSTOOD)
        ]

    def count(self, kinds: Iterable[Kind]) -> int:
        """Return how many lines are of some kinds."""
        wanted = {int(kind) for kind in kinds}
        return sum(1 for source in self.lines for kind in source.kinds if kind in wanted)

    @property
    def line_count(self) -> int:
        """All lines."""
        return sum(len(source.texts) for source in self.lines)

    @property
    def audited_lines(self) -> int:
        """The lines of audited areas, read or not."""
        return self.count(AUDITED_KINDS)

    @property
    def complete(self) -> bool:
        """Whether this is a whole configuration of which every line of an audited area was understood."""
        return not self.problem and not self.count([Kind.NOT_UNDERSTOOD])

    def evidence_of(self, setting: Setting) -> list[QuotedLine]:
        """Return the lines that a setting was observed in, secrets taken out; those of its item if it has none."""
        key = self.born_as.get(setting.key, setting.key) if setting.area in ("ports", "uplinks") else setting.key
        return [self._quote(ref.source, ref.line) for ref in self.evidence.of(setting._replace(key=key))]

    def remarked(self) -> list[tuple[QuotedLine, str]]:
        """Return the remarks with the lines that they are about."""
        return [(self._quote(remark.ref.source, remark.ref.line), remark.text) for remark in self.remarks]

    def _quote(self, source: int, number: int) -> QuotedLine:
        lines = self.lines[source]
        if source not in self._redacted:
            self._redacted[source] = redact(self.platform, lines.texts)
        return QuotedLine(file=lines.name, line=number, text=self._redacted[source][number - 1])


def read(platform: str, sources: Sequence[Source]) -> Reading:
    """Read one device's capture.

    Args:
        platform: a platform's name.
        sources: its files: the running configuration and listings, in any order.

    Returns:
        What was observed. A capture that is no whole configuration is a reading with a ``problem``, no error.

    Raises:
        PlatformError: no such platform, or its data are broken.
    """
    return _Reader(dialect(platform)).read(sources)


class _Reader:
    def __init__(self, dialect: Dialect) -> None:
        self.dialect = dialect
        self.platform = dialect.platform
        self.facts: Facts = {}
        self.headers: list[str] = []
        self.owned = 0

    def read(self, sources: Sequence[Source]) -> Reading:
        lines = [lines_of(source) for source in sources]
        cut = LAYOUTS[self.platform.layout.kind]
        for index, text in enumerate(lines):
            for section in cut(text, self.platform, self.dialect.rules):
                self._section(section, text, index)
        defaults = self.dialect.defaults_in("\n".join("\n".join(text.texts) for text in lines))
        return self._resolve(lines, defaults)

    def _section(self, section: Section, lines: Lines, source: int) -> None:
        """Hand a section to the template that owns it and account for its lines."""
        self.headers.append(section.header)
        owner = section.owner
        if owner is None:
            return
        self.owned += 1
        body, numbers = section.lines, section.numbers
        if owner.rule.whole:
            body, numbers = [section.header, *body], [section.number, *numbers]
        outcome = owner.template.read(body)
        for index in outcome.ignored:
            lines.kinds[numbers[index] - 1] = Kind.IGNORED
        for index in outcome.unread:
            lines.kinds[numbers[index] - 1] = Kind.NOT_UNDERSTOOD
        head, understood = owner.head(section.head)
        if not understood:
            lines.mark(section.number, Kind.NOT_UNDERSTOOD)
        ref = Ref(source, section.number)
        facts = self.facts.setdefault(owner.template.feature, [])
        if head and not outcome.records:
            facts.append(Fact(dict(head), ref))
        for record in outcome.records:
            facts.append(Fact({**head, **record.values}, ref, record.trace, numbers))

    def _resolve(self, lines: list[Lines], defaults: Defaults) -> Reading:
        evidence = Evidence()
        system = System(self.facts.get("system", []), defaults["system"])
        interfaces = Interfaces(self.dialect.names, self.facts, defaults["interface"])
        layer2 = Layer2(self.platform, interfaces, self.facts)
        layer3 = Layer3(interfaces, layer2)
        ports = Ports(self.platform, interfaces, layer2, system.flag("native_tagged"))
        dhcp = Dhcp(self.platform, self.facts, layer3, defaults["dhcp_scope"])
        wifi = Wifi(self.dialect, self.facts, interfaces, layer2, defaults)
        evidence.note("hostname", "", system, {"": ("hostname",)})
        state = DeviceState(
            hostname=system.hostname,
            vlans=self._vlans(layer2, interfaces, evidence),
            ports=ports.build(evidence),
            gateways=layer3.gateways(evidence),
            dhcp=dhcp.build(evidence, system.flag("dhcp_service", True)),
            ssids=wifi.build(evidence),
            uplinks=layer3.uplinks(evidence),
            management=system.management(evidence, interfaces.all()),
        )
        return Reading(
            platform=self.platform.name,
            state=state,
            lines=lines,
            problem=self._problem(lines),
            not_shown=self._not_shown(state, system, ports.switching, layer2),
            evidence=evidence,
            born_as={i.get("alias"): i.name for i in interfaces.devices.values() if i.get("alias")},
            passphrases=wifi.passphrases,
            remarks=dhcp.remarks,
        )

    def _vlans(self, layer2: Layer2, interfaces: Interfaces, evidence: Evidence) -> dict[int, Vlan]:
        found = {}
        for vid, declared in layer2.declared.items():
            default = self.platform.vlans.default_names
            found[vid] = Vlan(name=declared.name or (default.format(vid=vid) if default else None))
            evidence.note("vlans", vid, declared.fact, {"": ("vlan_ids", "index")})
            evidence.note("vlans", vid, declared.named_by, {"name": ("name",)})
        for interface in interfaces.devices.values():
            used = ["vlan_tag"]
            if self.platform.vlans.by_use and interface.get("admits") != "tagged":
                used.append("untagged_vlan")
            for name in used:
                vid = int(interface.get(name) or 0)
                if vid and vid not in found:
                    found[vid] = Vlan()
                    evidence.note("vlans", vid, interface, {"": (name,)})
        return found

    def _not_shown(self, state: DeviceState, system: System, switching: bool, layer2: Layer2) -> dict[Setting, str]:
        """Return what this capture cannot show, with what to save beside it."""
        found = {}
        table = self.platform.vlans
        shown = system.flag("vlans_shown") or not table.shown_by or bool(table.shown_by & set(layer2.declared))
        if not shown and switching:
            found[Setting("vlans")] = table.save
        for rule in self.platform.shown:
            if not any(pattern.match(header) for header in self.headers for pattern in rule.patterns):
                found[rule.setting] = rule.save
        if system.flag("wifi_elsewhere"):
            found[Setting("ssids")] = "its Wi-Fi names are kept by the device that manages it: capture that one, too"
        return found

    def _problem(self, lines: list[Lines]) -> str:
        """Return why the capture is no whole configuration."""
        if not any(text.texts for text in lines):
            return "the capture is empty"
        if not self.owned:
            for text in lines:
                for line in text.texts:
                    if self.dialect.refusals.match(line):
                        return f"the device answered with an error instead of its configuration: {line.strip()!r}"
            return f"nothing in it is a {self.platform.name} configuration"
        for text in lines:
            if text.problem:
                return f"{text.name}: {text.problem}"
        ends_with = self.dialect.ends_with
        if ends_with and not any(ends_with.search("\n".join(text.texts[-200:])) for text in lines):
            return "the line that ends a configuration is missing: the capture is cut short"
        return ""

