"""What the clients of a DHCP scope are told: gateway, servers, lease and options, from all rows that tell them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from ipaddress import IPv4Address

from auditor.core.dhcp_options import Form, sent_as
from auditor.platforms.leasing import Leasing
from auditor.reading.row_models.dhcp import DhcpFields, DhcpNetworkRow, DhcpOptionRow, DhcpScopeRow
from auditor.reading.row_models.field_names import FieldName
from auditor.topology.evidence import Noted, Sources

OfferPart = DhcpScopeRow | DhcpNetworkRow
"""A row that tells the clients of a scope something."""
_NTP, _WINS, _CAPWAP = 42, 44, 138
"""RFC 2132: servers of time, and of NetBIOS names; RFC 5417: managers of access points."""
_FORMS: dict[str, Form] = {
    **dict.fromkeys(("ascii", "string", "text"), "text"),
    **dict.fromkeys(("ip", "ip-address", "ip-list"), "address"),
    **dict.fromkeys(("hex", "hex-string"), "hex"),
}
"""The words by which dialects tell the form of an option's value."""
_TOLD: Sources = {
    "gateway": ("gateway", "own_gateway"),
    "dns": ("dns", "dns_of"),
    "domain": ("domain",),
    "lease_seconds": ("lease", "lease_days", "lease_hours", "lease_minutes", "lease_most"),
    "options": ("options", "option_set", "ntp", "ntp_of", "wins", "capwap"),
}
"""By setting, the values of a row that tell it."""
_LEASES: tuple[FieldName, ...] = ("lease", "lease_days", "lease_hours", "lease_minutes")


@dataclass(slots=True)
class Offer:
    """What the clients of one scope are told; options by their RFC 2132 numbers."""

    gateway: str = ""
    dns: tuple[str, ...] | None = None
    domain: str = ""
    lease_seconds: int | None = None
    lease_most: int | None = None
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
        self._sets: dict[str, tuple[str, ...]] = {}
        for row in options:
            if row.options:
                self._sets[row.name] = row.options
                continue
            self._named[row.name] = row
            if row.scope_name:
                self._of_scopes.setdefault(row.scope_name, []).append(row)

    def of(self, parts: Sequence[OfferPart], own: IPv4Address | None) -> Offer:
        """Return what the parts of a scope tell, the last before the first; ``own`` is the server's address in it."""
        offer = Offer()
        for part in parts:
            self._tell(part, offer)
        self._tell_of_others([part for part in parts if isinstance(part, DhcpScopeRow)], own, offer)
        if own and "gateway" in self._server.own and all(getattr(part, "own_gateway", True) for part in parts):
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
        offer.lease_most = row.lease_most or offer.lease_most
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
        ntp = () if isinstance(row, DhcpScopeRow) and row.ntp_of else row.ntp
        servers_of = ((_NTP, ntp), (_WINS, row.wins), (_CAPWAP, row.capwap))
        found = {code: ",".join(servers) for code, servers in servers_of if servers}
        for named in self._unasked(row):
            found[named.code] = sent_as(named.code, _option_value(named.value), named.form)
        for text in (*row.options, *self._sets.get(row.option_set, ())):
            code, _, value = text.replace(",", " ", 1).partition(" ")
            if code.isdecimal():
                more = found[int(code)] + "," if value.startswith("array ") and int(code) in found else ""
                found[int(code)] = more + _sent(int(code), value)
                continue
            for name in re.split(r"[,\s]+", text):
                option = self._named.get(name)
                if option:
                    found[option.code] = sent_as(option.code, _option_value(option.value), option.form)
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
    """Return the lease time of a row in seconds: the last line that says one counts, and says all of it."""
    said = {name: row.refs(name)[-1] for name in _LEASES if row.says(name)}
    days, hours, minutes = (
        getattr(row, name) if said.get(name) == max(said.values(), default=None) else 0 for name in _LEASES[1:]
    )
    return 60 * (1440 * days + 60 * hours + minutes) or row.lease


def _sent(code: int, text: str) -> str:
    """Return what clients are told by an option's value with the word for its form before it, if there is one."""
    word = re.match(r"(?:array\s+)?([A-Za-z-]+)\s", text.strip())
    form = _FORMS.get(word[1].lower(), "") if word else ""
    value = _option_value(text)
    return sent_as(code, value, form)


def _option_value(text: str) -> str:
    """Return an option's value without the words and quotes around it; addresses joined by commas."""
    text = re.sub(r"^(?:array\s+)?(?i:ascii|ip-address|ip-list|ip|hex-string|hex|text|string)\s+", "", text.strip())
    text = re.sub(r"""^s?(["'])(.*)\1$""", r"\2", text)
    parts = re.split(r"[,\s]+", text)
    return ",".join(parts) if all(re.fullmatch(r"[\d.]+", part) for part in parts) else text
