"""Ranges of addresses as rows of DHCP servers say them: by their ends, as lists, or counted from a start."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv4Network

from auditor.core.addresses import host_range
from auditor.reading.fields import Range, span
from auditor.reading.row_models.dhcp import DhcpExclusionRow, DhcpRangeRow, DhcpScopeRow
from auditor.reading.source import Refs

WithRanges = DhcpScopeRow | DhcpRangeRow | DhcpExclusionRow
"""Rows that say ranges: a list of them, or one by its two ends, each on a line of its own."""


def dropped_of(row: WithRanges) -> Refs:
    """Take the ends of a range out of a row where no range lies between them; return the lines that said them."""
    if not (row.first and row.last):
        return ()
    try:
        span(row.first, row.last)
    except ValueError:
        lines = row.at("first", "last")
        del row.first, row.last
        return lines
    return ()


def ranges_of(row: WithRanges) -> list[Range]:
    """Return the ranges that a row says: a list of them, or one by its ends."""
    return [span(row.first, row.last)] if row.first and row.last else list(row.ranges)


def counted(net: IPv4Network, row: DhcpScopeRow, start: int) -> Range:
    """Return the range from a start to an end or for so many addresses, cut at the network's last host."""
    first = int(IPv4Address(row.first)) if row.first else int(net.network_address) + start
    last = int(IPv4Address(row.last)) if row.last else first + (1 if row.limit is None else row.limit) - 1
    return first, min(last, int(host_range(net)[1]))
