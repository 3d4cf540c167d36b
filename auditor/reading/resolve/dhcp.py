"""DHCP scopes by prefix: servers, networks, ranges, exclusions and reservations put together."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from ipaddress import IPv4Address, IPv4Interface, IPv4Network
from types import MappingProxyType
from typing import Any

from auditor.core.state import DhcpScope
from auditor.core.values import host_range, network, network_key, range_text, subtract_ranges
from auditor.platforms.definition import Default, Platform
from auditor.reading.fields import span
from auditor.reading.resolve.layer3 import Layer3
from auditor.reading.resolve.read_rows import (
    Evidence,
    Later,
    Noted,
    ReadingRemark,
    ReadRow,
    ReadRows,
    Ref,
    Refs,
    apply_defaults,
)

Range = tuple[int, int]
"""First and last address, as numbers."""
_WITH_ENDS = ("dhcp_scope", "dhcp_range", "dhcp_exclusion")
"""Features whose rows may say a range by its two ends, each on a line of its own."""

_LEASE = ("lease", "lease_days", "lease_hours", "lease_minutes")
_TOLD = {
    "gateway": ("gateway",),
    "dns": ("dns", "dns_of"),
    "domain": ("domain",),
    "lease_seconds": _LEASE,
    "options": ("options", "ntp", "ntp_of", "wins"),
}
"""By setting, the values of a row that tell it."""


@dataclass(slots=True)
class _Scope:
    net: IPv4Network
    own: IPv4Address | None
    served_by: ReadRow
    parts: list[ReadRow] = field(default_factory=list)
    ranges: list[Range] = field(default_factory=list)
    ranges_from: list[tuple[ReadRow, tuple[str, ...]]] = field(default_factory=list)
    reservations: dict[str, str] = field(default_factory=dict)
    reserved_by: list[ReadRow] = field(default_factory=list)


class Dhcp:
    """Builds the ``dhcp`` area. ``device``: the servers that the device itself uses, by what they serve."""

    def __init__(
        self,
        platform: Platform,
        read_rows: ReadRows,
        layer3: Layer3,
        defaults: list[Default],
        device: Mapping[str, list[str]] = MappingProxyType({}),
    ) -> None:
        self._server = platform.dhcp
        self._device = device
        self._layer3 = layer3
        self._rows = read_rows
        self._impossible = [
            ref for feature in _WITH_ENDS for row in read_rows.get(feature, ()) for ref in _dropped(row)
        ]
        of_all = [row for row in self._active("dhcp_network") if not row.get("network")]
        unsaid = {name for default in defaults for name in default.fields if not any(name in f.values for f in of_all)}
        for row in read_rows.get("dhcp_scope", ()):
            apply_defaults(defaults, "", row.values, only=unsaid)
        self._named_ranges: dict[str, list[ReadRow]] = {}
        for row in self._active("dhcp_range"):
            self._named_ranges.setdefault(row.get("name", ""), []).append(row)
        self._named_options = {row.get("name"): row for row in self._active("dhcp_option")}
        self._options_of_scopes: dict[str, list[ReadRow]] = {}
        for row in self._active("dhcp_option"):
            if row.get("scope_name"):
                self._options_of_scopes.setdefault(row.get("scope_name"), []).append(row)
        self._holes = [(hole, f) for f in self._active("dhcp_exclusion") for hole in _ranges(f)]
        self._scopes: dict[str, _Scope] = {}
        self._groups: list[ReadRow] = []
        self.remarks: list[ReadingRemark] = []

    def build(self, evidence: Evidence, serving: bool) -> dict[str, DhcpScope]:
        """Return the scopes that are served; none where the whole service is off."""
        scopes = self._grouped()
        for row in scopes:
            if not row.get("host"):
                self._serve(row)
        for row in self._active("dhcp_network"):
            net = row.get("network")
            for scope in self._scopes.values():
                if not net:
                    scope.parts.insert(0, row)
                elif network(net) == scope.net:
                    scope.parts.append(row)
        for row in scopes:
            if row.get("host"):
                self._reserve(row, row.get("host"), row.get("mac"))
            for address, mac in row.get("reserved", ()):
                self._reserve(row, address, mac)
        for row in self._active("dhcp_reservation"):
            self._reserve(row, row.get("address"), row.get("mac"))
        evidence.ask("dhcp", self._sources)
        return {key: self._finish(scope) for key, scope in self._scopes.items()} if serving else {}

    def unknown(self) -> list[Ref]:
        """Return the lines that say what no server can do: a range that runs backwards, a start beyond the prefix."""
        return self._impossible

    def _grouped(self) -> list[ReadRow]:
        """Return the scopes that are on, but for those of a group that is off; what groups say is kept for them."""
        rows = [row for row in self._rows.get("dhcp_scope", ()) if not row.get("inactive")]
        self._groups = [row for row in rows if row.get("group") and not row.get("network")]
        off = {row.get("group") for row in self._groups if row.get("disabled")}
        return [
            row
            for row in self._active("dhcp_scope")
            if not row.get("group") or (row.get("network") and row.get("group") not in off)
        ]

    def _active(self, feature: str) -> list[ReadRow]:
        return [f for f in self._rows.get(feature, ()) if not (f.get("inactive") or f.get("disabled"))]

    def _serve(self, row: ReadRow) -> None:
        """Open the scope that a statement serves, or add to it."""
        name = row.get("interface", "")
        if name and not self._layer3.is_up(name):
            self._remark(row, "a DHCP scope on an interface that is off: it is served nowhere")
            return
        own = self._layer3.prefix_of(name) if name else None
        if own and row.get("netmask"):
            own = IPv4Interface(f"{own.ip}/{row.get('netmask')}")
        net = network(row.get("network")) if row.get("network") else own.network if own else None
        net = net or (None if name or self._server.prefix_said else self._net_around(row))
        if net is None:
            self._remark(row, "a DHCP scope whose prefix nothing here tells: it is served nowhere")
            return
        everywhere = not self._server.by_interface or row.get("everywhere")
        if not everywhere and not self._layer3.serves_dhcp(net):
            self._remark(row, "a DHCP scope whose interface does not serve DHCP")
            return
        scope = self._scopes.setdefault(network_key(net), _Scope(net, own.ip if own else None, row))
        scope.parts += [f for f in self._groups if row.get("group") and f.get("group") == row.get("group")]
        scope.parts.append(row)
        itself = row.get("ranges") is not None or (row.get("start") is None and _ranges(row))
        given = [row] if itself else self._chained(row.get("pool_name"))
        if given:
            for part in given:
                scope.ranges.extend(_ranges(part))
                scope.ranges_from.append((part, ("ranges", "first", "last")))
        elif row.get("start") is not None:
            scope.ranges_from.append((row, ("first", "last", "start", "limit")))
            counted = _counted(net, row)
            if counted[0] <= counted[1]:
                scope.ranges.append(counted)
            else:
                self._impossible += row.at("first", "last", "start")
                self._remark(row, f"a DHCP scope that begins outside of {net}: it gives out nothing")
        elif self._server.pools == "network":
            first, last = host_range(net)
            scope.ranges.append((int(first), int(last)))
            scope.ranges_from.append((row, ("network",)))

    def _net_around(self, row: ReadRow) -> IPv4Network | None:
        """Return the prefix that the addresses of a scope are in: by its mask, or that of an interface's address."""
        kept = [int(IPv4Address(address)) for address, _ in row.get("reserved", ())]
        told = [int(IPv4Address(address)) for address in row.get("gateway", ()) if ":" not in address]
        found = [first for first, _ in _ranges(row)] + kept + told
        if found and row.get("netmask"):
            return IPv4Network(f"{IPv4Address(found[0])}/{row.get('netmask')}", strict=False)
        return self._layer3.net_of(IPv4Address(found[0])) if found else None

    def _chained(self, name: str) -> list[ReadRow]:
        """Return a named set of ranges and those that are used up after it."""
        found: list[ReadRow] = []
        while (parts := self._named_ranges.get(name or "")) and parts[0] not in found:
            found += parts
            name = parts[-1].get("next_name")
        return found

    def _reserve(self, row: ReadRow, address: str | None, mac: str | None) -> None:
        if not address or not mac:
            self._remark(row, "a DHCP reservation without an address or a MAC address")
            return
        ip = IPv4Address(address)
        only = row.get("scope_name")
        for scope in self._scopes.values():
            if ip in scope.net and (not only or only in {part.get("name") for part in scope.parts}):
                scope.reservations[address] = mac
                scope.reserved_by.append(row)
                return
        self._remark(row, f"a DHCP reservation of {ip}, which is in no scope of this device")

    def _remark(self, row: ReadRow, text: str) -> None:
        self.remarks.append(ReadingRemark(row.head, text))

    def _finish(self, scope: _Scope) -> DhcpScope:
        ranges = subtract_ranges(scope.ranges, [hole for hole, _ in self._holes_in(scope)])
        values: dict[str, Any] = {"pools": tuple(range_text(first, last) for first, last in ranges)}
        for part in scope.parts:
            self._told(part, values)
        self._told_of_others(scope, values)
        for name in self._server.own:
            if scope.own and not values.get(name):
                values[name] = str(scope.own) if name == "gateway" else (str(scope.own),)
        values["reservations"] = dict(sorted(scope.reservations.items()))
        return DhcpScope.model_validate(values)

    def _holes_in(self, scope: _Scope) -> list[tuple[Range, ReadRow]]:
        first, last = int(scope.net.network_address), int(scope.net.broadcast_address)
        return [(hole, row) for hole, row in self._holes if hole[0] <= last and hole[1] >= first]

    def _told(self, row: ReadRow, values: dict[str, Any]) -> None:
        """Take over what one statement tells the clients of a scope."""
        told: dict[str, Any] = {
            "gateway": ",".join(row.get("gateway", ())),
            "dns": tuple(sorted(row.get("dns", ()))),
            "domain": row.get("domain"),
            "lease_seconds": _lease(row),
        }
        options = self._options(row)
        for code, name in self._server.option_fields.items():
            if code in options:
                text = options.pop(code)
                told[name] = tuple(sorted(re.split(r"[,\s]+", text))) if name == "dns" else text
        values.update({name: value for name, value in told.items() if value})
        if options:
            values["options"] = {**values.get("options", {}), **options}

    def _told_of_others(self, scope: _Scope, values: dict[str, Any]) -> None:
        """Fill in the servers that clients are told without their being listed."""
        for name in ("dns", "ntp"):
            whose = next((part.get(f"{name}_of") for part in scope.parts if part.get(f"{name}_of")), "")
            servers = {"own": [str(scope.own)] if scope.own else [], "device": self._device.get(name, [])}
            found = tuple(sorted(set(servers.get(whose, ()))))
            if whose and name == "dns":
                values[name] = found
            elif found:
                values["options"] = {42: ",".join(found), **values.get("options", {})}

    def _options(self, row: ReadRow) -> dict[int, str]:
        found = {code: ",".join(row.get(name)) for code, name in ((42, "ntp"), (44, "wins")) if row.get(name)}
        for named in self._options_of_scopes.get(row.get("name", ""), ()):
            found[named.get("code", 0)] = _option_value(named.get("value", ""))
        for text in row.get("options", ()):
            code, _, value = text.replace(",", " ", 1).partition(" ")
            if code.isdecimal():
                more = found[int(code)] + "," if value.startswith("array ") and int(code) in found else ""
                found[int(code)] = more + _option_value(value)
                continue
            for name in re.split(r"[,\s]+", text):
                option = self._named_options.get(name)
                if option:
                    found[option.get("code", 0)] = _option_value(option.get("value", ""))
        return found

    def _sources(self, key: str) -> list[Noted]:
        """Return where the settings of a scope were read."""
        scope = self._scopes.get(key)
        if scope is None:
            return []
        in_options = set(self._server.option_fields.values())
        noted: list[Noted] = [(scope.served_by, {"": ()})]
        noted += [(row, {"pools": names}) for row, names in scope.ranges_from]
        noted += [(row, {"pools": ("ranges",)}) for _, row in self._holes_in(scope)]
        noted += [(row, {"reservations": ("address", "host", "mac", "reserved")}) for row in scope.reserved_by]
        own = scope.served_by.get("interface", "")
        noted.append((Later(lambda: self._layer3.lines_of_address(own)), dict.fromkeys(self._server.own, ())))
        for part in scope.parts:
            options = self._options_of_scopes.get(part.get("name", ""), ())
            noted += [(row, {"options": ("code", "value")}) for row in options]
            for name, sources in _TOLD.items():
                told = [s for s in sources if s in part.values]
                if name in in_options and "options" in part.values:
                    told.append("options")
                if told:
                    noted.append((part, {name: told}))
        return noted


def _dropped(row: ReadRow) -> Refs:
    """Take the ends of a range out of a row where no range lies between them; return the lines that said them."""
    if not (row.get("first") and row.get("last")):
        return ()
    try:
        span(row.get("first"), row.get("last"))
    except ValueError:
        lines = row.at("first", "last")
        row.values.pop("first")
        row.values.pop("last")
        return lines
    return ()


def _ranges(row: ReadRow) -> list[Range]:
    """Return the ranges that a row says: a list of them, or one by its ends."""
    if row.get("first") and row.get("last"):
        return [span(row.get("first"), row.get("last"))]
    return list(row.get("ranges", ()))


def _counted(net: IPv4Network, row: ReadRow) -> Range:
    """Return the range from a start to an end or for so many addresses, cut at the network's last host."""
    given = row.get("first")
    first = int(IPv4Address(given)) if given else int(net.network_address) + int(row.get("start"))
    last = int(IPv4Address(row.get("last"))) if row.get("last") else first + int(row.get("limit", 1)) - 1
    return first, min(last, int(host_range(net)[1]))


def _lease(row: ReadRow) -> int | None:
    minutes = 1440 * row.get("lease_days", 0) + 60 * row.get("lease_hours", 0) + row.get("lease_minutes", 0)
    lease: int | None = row.get("lease")
    return 60 * minutes or lease


def _option_value(text: str) -> str:
    """Return an option's value without the words and quotes around it; addresses joined by commas."""
    text = re.sub(r"^(?:array\s+)?(?:ascii|ip-address|ip-list|ip|hex-string|hex|text|string)\s+", "", text.strip())
    text = re.sub(r"""^s?(["'])(.*)\1$""", r"\2", text)
    parts = re.split(r"[,\s]+", text)
    return ",".join(parts) if all(re.fullmatch(r"[\d.]+", part) for part in parts) else text
