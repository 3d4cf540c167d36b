"""A platform made ready for reading: its section rules, templates and word tables compiled once."""

from __future__ import annotations

import re
from functools import cache, cached_property

from auditor.errors import PlatformError
from auditor.platforms import catalogue
from auditor.platforms.definition import Default, Platform, SectionRule, any_of
from auditor.platforms.names import names_of
from auditor.reading.answers import Answers
from auditor.reading.known import Conditions, known_of
from auditor.reading.layouts import PREPARATIONS
from auditor.reading.narrowed import Narrowed
from auditor.reading.row_models import DEFAULTED, FEATURES, Feature, RowDefaults, converters
from auditor.reading.rows import Template, Typing
from auditor.reading.sections import Owner, Rules
from auditor.reading.words import Words


class Dialect:
    """Everything compiled that reading a platform's captures needs.

    Raises:
        PlatformError: a pattern or template of the platform is broken.
    """

    def __init__(self, platform: Platform) -> None:
        self.platform = platform
        self.templates: list[Template] = []
        try:
            self.words = Words(platform)
            fields = {f"{feature}.{field}" for feature, row in FEATURES.items() for field in row.types()}
            self.words.check(fields)
            self.names = names_of(platform.name)
            ports = self.names.names if platform.interfaces.ranges else None
            self._typing = {feature: Typing(feature, self.words, ports) for feature in FEATURES}
            self._defaults = [_typed(name, each) for name, found in platform.defaults.items() for each in found]
            self.answers = Answers(platform, self._rules)
            self.conditions = Conditions(platform)
            self.refusals = any_of(platform.patterns("refusal"))
            self.narrowed = Narrowed(platform)
            self.interrupted = any_of(platform.patterns("interruption"))
            self.off = any_of(platform.patterns("off")) if platform.patterns("off") else None
            self.read_on = [re.compile(pattern, re.IGNORECASE) for pattern in platform.patterns("clock")]
            self.ends_below = re.compile(platform.pattern("above_end"), re.IGNORECASE)
            self.ends_with = re.compile(platform.pattern("end")) if platform.patterns("end") else None
        except re.error as error:
            raise PlatformError(f"{platform.name}/platform.yaml: {error.pattern!r} is no pattern: {error}") from error
        except ValueError as error:
            raise PlatformError(f"{platform.name}/platform.yaml: {error}") from error

    @cached_property
    def tells_who_serves_dhcp(self) -> bool:
        """Whether some interface can say that DHCP is served on it: then it is served on none that does not."""
        rules = (rule.values for rule in self.platform.every_section)
        return any("DHCP_SERVER" in template.value_names for template in self.templates) or any(
            "dhcp_server" in values for values in rules
        )

    @cached_property
    def tells_vrf_of_dhcp(self) -> bool:
        """Whether a DHCP scope can say the VRF that it serves: then it serves no other."""
        return any(template.feature == "dhcp_scope" and "VRF" in template.value_names for template in self.templates)

    @cached_property
    def tells_logins_by_vrf(self) -> bool:
        """Whether a login can be offered in one VRF alone; otherwise it is offered in all of them."""
        values = {template.name: {*template.value_names} for template in self.templates if template.feature == "system"}
        for rule in self.platform.every_section:
            if rule.template in values:
                values[rule.template] |= {*map(str.upper, rule.values)}
                values[rule.template] |= {group for pattern in rule.opens for group in re.compile(pattern).groupindex}
        return any("VRF" in names and any(name.startswith("LOGIN") for name in names) for names in values.values())

    @cached_property
    def tells_login_servers(self) -> bool:
        """Whether a configuration says by which server clients log in to a Wi-Fi."""
        return any("LOGIN_AT" in template.value_names for template in self.templates)

    def _rules(self, platform: Platform) -> Rules:
        """Return the rules of the platform as it answers one of its commands."""
        return Rules(platform, lambda rule: self._owner(platform, rule))

    def _owner(self, platform: Platform, rule: SectionRule) -> Owner:
        if rule.feature not in FEATURES:
            raise ValueError(f"sections: template {rule.template}: no feature is called {rule.feature}")
        groups = [group for pattern in rule.opens for group in re.compile(pattern).groupindex if group.isupper()]
        fields = FEATURES[rule.feature].types()
        for name in (*groups, *rule.values):
            if name.lower() not in fields:
                raise ValueError(f"sections: opens {rule.opens[0]!r}: {name} is no field of {rule.feature}")
        text = catalogue.template_text(self.platform.name, f"{rule.template}.textfsm")
        prepare = PREPARATIONS[platform.layout.kind](platform, rule)
        nests = platform.layout.kind == "indented"
        template = Template(rule.template, text, self._typing[rule.feature], known_of(rule), prepare, nests=nests)
        self.templates.append(template)
        return Owner(rule, template, self._typing[rule.feature])

    def defaults_in(self, text: str) -> RowDefaults:
        """Return what lines that are not there mean in this capture."""
        found: RowDefaults = {feature: [] for feature in DEFAULTED}
        occurs: dict[str | None, bool] = {None: True}
        for feature, default in self._defaults:
            when = default.when
            if when not in occurs:
                occurs[when] = re.search(when or "", text, re.MULTILINE) is not None
            if occurs[when]:
                found[feature].append(default)
        return found


def _typed(name: str, default: Default) -> tuple[Feature, Default]:
    """Return what an absent line means with the values as rows have them.

    Raises:
        ValueError: no such feature or field, or a value that it cannot have.
    """
    feature = next((feature for feature in DEFAULTED if feature == name), None)
    if feature is None:
        raise ValueError(f"defaults: absent lines mean nothing in {name}; they do in {', '.join(DEFAULTED)}")
    convert = converters(feature)
    unknown = [name for name in (*default.values, *default.where) if name not in convert]
    if unknown:
        raise ValueError(f"defaults: {unknown[0]} is no field of {feature}: {', '.join(convert)}")
    values = {}
    for field, value in default.values.items():
        try:
            values[field] = convert[field](value)
        except (ValueError, TypeError, AttributeError) as error:  # what turns text into a type is given anything here
            raise ValueError(f"defaults: {value!r} is no {feature}.{field}") from error
    return feature, default.model_copy(update={"values": values})


@cache
def dialect(name: str) -> Dialect:
    """Return a platform's dialect by its name.

    Raises:
        PlatformError: no such platform, or its data are broken.
    """
    return Dialect(catalogue.get(name))
