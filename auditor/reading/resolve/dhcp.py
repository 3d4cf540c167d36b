"""DHCP scopes by prefix: servers, networks, ranges, exclusions and reservations put together."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from ipaddress import IPv4Address, IPv4Network
from typing import Any

from auditor.model.state import DhcpScope
from auditor.model.values import host_range, merge_ranges, network, range_text, subtract_ranges
from auditor.platforms.definition import Default, DhcpServer, Platform
from auditor.reading.resolve.facts import Evidence, Fact, Facts, Remark, apply_defaults
from auditor.reading.resolve.layer3 import Layer3

Range = tuple[IPv4Address, IPv4Address]


@dataclass(slots=True)
class _Scope:
    net: IPv4Network
    served: Fact
    own: IPv4Address | None
    parts: list[Fact] = field(default_factory=list)
    ranges: list[Range] = field(default_factory=list)
    range_sources: list[tuple[Fact, tuple[str, ...]]] = field(default_factory=list)
    reservations: dict[str, str] = field(default_factory=dict)
    reserved_by: list[Fact] = field(default_factory=list)


class Dhcp:
    """Builds the ``dhcp`` area."""

    def __init__(self, platform: Platform, facts: Facts, layer3: Layer3, defaults: list[Default]) -> None:
        for fact in facts.get("dhcp_scope", []):
            apply_defaults(defaults, "", fact.values)
        self._server: DhcpServer = platform.dhcp
        self._facts = facts
        self._layer3 = layer3
        self.remarks: list[Remark] = []
        self._scopes: dict[IPv4Network, _Scope] = {}

    def build(self, evidence: Evidence, serving: bool) -> dict[str, DhcpScope]:
        """Return the scopes that are served; none where the whole service is off."""
        named = {fact.get("name"): fact for fact in self._facts.get("dhcp_range", [])}
        scopes = self._active("dhcp_scope")
        for fact in scopes:
            if not fact.get("host"):
                self._serve(fact, named)
        for fact in self._active("dhcp_network"):
            net = _network(fact)
            for scope in self._scopes.values():
                if net is None or net == scope.net:
                    scope.parts.append(fact)
        for fact in scopes:
            if fact.get("host"):
                self._reserve(fact, fact.get("host"))
        for fact in self._active("dhcp_reservation"):
            self._reserve(fact, fact.get("address"))
        return {str(net): self._finish(scope, evidence) for net, scope in self._scopes.items()} if serving else {}

    def _active(self, feature: str) -> list[Fact]:
        return [f for f in self._facts.get(feature, []) if not (f.get("inactive") or f.get("disabled"))]

    def _serve(self, fact: Fact, named: dict[str, Fact]) -> None:
        own = self._layer3.prefix_of(fact.get("interface")) if fact.get("interface") else None
        net = _network(fact) or (own.network if own else None)
        if net is None:
            self._remark(fact, "a DHCP scope whose prefix nothing here tells: it is served nowhere")
            return
        scope = self._scopes.setdefault(net, _Scope(net, fact, own.ip if own else None))
        scope.parts.append(fact)
        pool = named.get(fact.get("pool_name"))
        if fact.get("ranges") is not None or pool:
            source = fact if fact.get("ranges") is not None else pool
            assert source is not None
            scope.ranges.extend(source.get("ranges", []))
            scope.range_sources.append((source, ("ranges",)))
        elif fact.get("start") is not None:
            scope.ranges.append(self._counted(net, fact))
            scope.range_sources.append((fact, ("start", "limit")))
        elif self._server.pools == "network" and not fact.get("pool_name"):
            scope.ranges.append(host_range(net))
            scope.range_sources.append((fact, ("network",)))

    def _counted(self, net: IPv4Network, fact: Fact) -> Range:
        """Return the range that a start and a limit count off, cut at the network's last host."""
        first = net.network_address + int(fact.get("start"))
        count = int(fact.get("limit", 1))
        last = min(first + (count - 1), host_range(net)[1])
        return first, max(first, last)

    def _reserve(self, fact: Fact, address: str | None) -> None:
        mac = fact.get("mac")
        if not address or not mac:
            self._remark(fact, "a DHCP reservation without an address or a MAC address")
            return
        ip = IPv4Address(address)
        for net, scope in self._scopes.items():
            if ip in net:
                scope.reservations[str(ip)] = mac
                scope.reserved_by.append(fact)
                return
        self._remark(fact, f"a DHCP reservation of {ip}, which is in no scope of this device")

    def _remark(self, fact: Fact, text: str) -> None:
        self.remarks.append(Remark(fact.head, text))

    def _finish(self, scope: _Scope, evidence: Evidence) -> DhcpScope:
        key = str(scope.net)
        ranges = merge_ranges(scope.ranges)
        sources = scope.range_sources
        if self._server.pools == "network":
            holes = [(range_, fact) for fact in self._active("dhcp_exclusion") for range_ in fact.get("ranges", [])]
            touching = [(r, fact) for r, fact in holes if r[0] in scope.net or r[1] in scope.net]
            ranges = subtract_ranges(ranges, [r for r, _ in touching])
            sources = sources + [(fact, ("ranges",)) for _, fact in touching]
        values: dict[str, Any] = {"pools": tuple(range_text(first, last) for first, last in ranges)}
        evidence.note("dhcp", key, scope.served, {"": ()})
        for fact, names in sources:
            evidence.note("dhcp", key, fact, {"pools": names})
        for part in scope.parts:
            self._told(part, values, key, evidence)
        for name in self._server.own:
            if scope.own and not values.get(name):
                values[name] = str(scope.own) if name == "gateway" else (str(scope.own),)
        if scope.reservations:
            values["reservations"] = dict(sorted(scope.reservations.items()))
            for fact in scope.reserved_by:
                evidence.note("dhcp", key, fact, {"reservations": ("address", "host", "mac")})
        return DhcpScope.model_validate(values)

    def _told(self, fact: Fact, values: dict[str, Any], key: str, evidence: Evidence) -> None:
        """Take over what one statement tells the clients of a scope."""

        def take(name: str, value: Any, *sources: str) -> None:
            if value:
                values[name] = value
                evidence.note("dhcp", key, fact, {name: sources})

        take("gateway", ",".join(fact.get("gateway", [])), "gateway")
        take("dns", tuple(sorted(fact.get("dns", []))), "dns")
        take("domain", fact.get("domain"), "domain")
        minutes = 1440 * fact.get("lease_days", 0) + 60 * fact.get("lease_hours", 0) + fact.get("lease_minutes", 0)
        take("lease_seconds", 60 * minutes or fact.get("lease"), "lease", "lease_days", "lease_hours", "lease_minutes")
        options = self._options(fact)
        for code in list(options):
            name = self._server.option_fields.get(code)
            if name:
                text = options.pop(code)
                take(name, tuple(sorted(re.split(r"[,\s]+", text))) if name == "dns" else text, "options")
        take("options", {**values.get("options", {}), **options}, "options", "ntp", "wins")

    def _options(self, fact: Fact) -> dict[int, str]:
        named = {f.get("name"): f for f in self._facts.get("dhcp_option", [])}
        found = {code: ",".join(fact.get(name)) for code, name in ((42, "ntp"), (44, "wins")) if fact.get(name)}
        for text in fact.get("options", []):
            code, _, value = text.replace(",", " ", 1).partition(" ")
            if code.isdecimal():
                found[int(code)] = _option_value(value)
                continue
            for name in re.split(r"[,\s]+", text):
                if name in named:
                    found[named[name].get("code", 0)] = _option_value(named[name].get("value", ""))
        return found


def _option_value(text: str) -> str:
    """Return an option's value without the words and quotes around it; addresses joined by commas."""
    text = re.sub(r"^(?:ascii|ip|hex|text)\s+", "", text.strip())
    text = re.sub(r"""^s?(["'])(.*)\1$""", r"\2", text)
    parts = re.split(r"[,\s]+", text)
    return ",".join(parts) if all(re.fullmatch(r"[\d.]+", part) for part in parts) else text


def _network(fact: Fact) -> IPv4Network | None:
    return network(fact.get("network")) if fact.get("network") else None
