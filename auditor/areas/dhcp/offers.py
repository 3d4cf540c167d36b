"""What the clients of a DHCP scope are told: gateway, servers, lease and options, from all rows that tell them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from ipaddress import IPv4Address

from auditor.platforms.leasing import Leasing
from auditor.reading.row_models.dhcp import DhcpFields, DhcpNetworkRow, DhcpOptionRow, DhcpScopeRow
from auditor.topology.evidence import Noted, Sources

OfferPart = DhcpScopeRow | DhcpNetworkRow
"""A row that tells the clients of a scope something."""
_NTP, _WINS = 42, 44
"""RFC 2132: servers of time, and of NetBIOS names."""
_TOLD: Sources = {
    "gateway": ("gateway",),
    "dns": ("dns", "dns_of"),
    "domain": ("domain",),
    "lease_seconds": ("lease", "lease_days", "lease_hours", "lease_minutes"),
    "options": ("options", "ntp", "ntp_of", "wins"),
}
"""By setting, the values of a row that tell it."""


@dataclass(slots=True)
class Offer:
    """What the clients of one scope are told; options by their RFC 2132 numbers."""

    gateway: str = ""
    dns: tuple[str, ...] | None = None
    domain: str = ""
    lease_seconds: int | None = None
    options: dict[int, str] = field(default_factory=dict)


class Offers:
    """Puts together what a device tells the clients of each scope.

    ``device``: the servers that the device itself uses, by what they serve.
    """

    def __init__(self, server: Leasing, options: Iterable[DhcpOptionRow], device: Mapping[str, Sequence[str]]) -> None:
        self._server = server
        self._device = device
        self._named: dict[str, DhcpOptionRow] = {}
        self._of_scopes: dict[str, list[DhcpOptionRow]] = {}
        for row in options:
            self._named[row.name] = row
            if row.scope_name:
                self._of_scopes.setdefault(row.scope_name, []).append(row)

    def of(self, parts: Sequence[OfferPart], own: IPv4Address | None) -> Offer:
        """Return what the parts of a scope tell, the last before the first; ``own`` is the server's address in it."""
        offer = Offer()
        for part in parts:
            self._tell(part, offer)
        self._tell_of_others([part for part in parts if isinstance(part, DhcpScopeRow)], own, offer)
        if own and "gateway" in self._server.own:
            offer.gateway = offer.gateway or str(own)
        if own and "dns" in self._server.own:
            offer.dns = offer.dns or (str(own),)
        return offer

    def _tell(self, row: OfferPart, offer: Offer) -> None:
        """Take over what one statement tells."""
        gateway, dns, domain = ",".join(row.gateway), tuple(sorted(row.dns)), row.domain
        options = self._options(row)
        for code, name in self._server.fields.items():
            if code in options:
                text = options.pop(code)
                match name:
                    case "gateway":
                        gateway = text
                    case "dns":
                        dns = tuple(sorted(re.split(r"[,\s]+", text)))
                    case "domain":
                        domain = text
        offer.gateway = gateway or offer.gateway
        offer.dns = dns or offer.dns
        offer.domain = domain or offer.domain
        offer.lease_seconds = _lease(row) or offer.lease_seconds
        offer.options.update(options)

    def _tell_of_others(self, rows: list[DhcpScopeRow], own: IPv4Address | None, offer: Offer) -> None:
        """Fill in the servers that clients are told without their being listed."""
        dns_of = next((row.dns_of for row in rows if row.dns_of), "")
        if dns_of:
            offer.dns = self._servers("dns", dns_of, own)
        ntp = self._servers("ntp", next((row.ntp_of for row in rows if row.ntp_of), ""), own)
        if ntp:
            offer.options = {_NTP: ",".join(ntp), **offer.options}

    def _servers(self, service: str, whose: str, own: IPv4Address | None) -> tuple[str, ...]:
        if whose == "own":
            return (str(own),) if own else ()
        return tuple(sorted(set(self._device.get(service, ())))) if whose == "device" else ()

    def _options(self, row: OfferPart) -> dict[int, str]:
        found = {code: ",".join(servers) for code, servers in ((_NTP, row.ntp), (_WINS, row.wins)) if servers}
        for named in self._unasked(row):
            found[named.code] = _option_value(named.value)
        for text in row.options:
            code, _, value = text.replace(",", " ", 1).partition(" ")
            if code.isdecimal():
                more = found[int(code)] + "," if value.startswith("array ") and int(code) in found else ""
                found[int(code)] = more + _option_value(value)
                continue
            for name in re.split(r"[,\s]+", text):
                option = self._named.get(name)
                if option:
                    found[option.code] = _option_value(option.value)
        return found

    def _unasked(self, row: OfferPart) -> list[DhcpOptionRow]:
        """Return the options that a scope tells though it does not name them."""
        return self._of_scopes.get(row.name, []) if isinstance(row, DhcpScopeRow) else []

    def sources(self, part: OfferPart) -> list[Noted]:
        """Return where that was read which a part tells."""
        noted: list[Noted] = [(row, {"options": ("code", "value")}) for row in self._unasked(part)]
        in_options = set(self._server.fields.values())
        for name, sources in _TOLD.items():
            told = tuple(source for source in sources if part.says(source))
            if name in in_options and part.says("options"):
                told = (*told, "options")
            if told:
                noted.append((part, {name: told}))
        return noted


def _lease(row: DhcpFields) -> int | None:
    return 60 * (1440 * row.lease_days + 60 * row.lease_hours + row.lease_minutes) or row.lease


def _option_value(text: str) -> str:
    """Return an option's value without the words and quotes around it; addresses joined by commas."""
    text = re.sub(r"^(?:array\s+)?(?:ascii|ip-address|ip-list|ip|hex-string|hex|text|string)\s+", "", text.strip())
    text = re.sub(r"""^s?(["'])(.*)\1$""", r"\2", text)
    parts = re.split(r"[,\s]+", text)
    return ",".join(parts) if all(re.fullmatch(r"[\d.]+", part) for part in parts) else text
