"""What is in bridges without a number: which of them a port, a name or a VLAN belongs to is no number to be set."""

from __future__ import annotations

from typing import Any

from auditor.areas import Mismatch
from auditor.core.domains import Domain, in_order
from auditor.core.state import Setting
from auditor.corrections.change import carried
from auditor.corrections.withheld.context import DeviceContext
from auditor.corrections.withheld.words import say

_WHERE = {"ports": ("mode", "untagged", "tagged", "voice"), "ssids": ("vlan",), "vlans": ("",), "gateways": ("",)}
"""By area the fields that say what is in which domain."""


def why(context: DeviceContext, mismatch: Mismatch) -> str:
    """Return why nothing is proposed; empty where a number says it all.

    That is so where a device has one bridge, and all that is in it is in the one VLAN that is planned there.
    """
    setting, bridges = mismatch.setting, context.bridges
    if setting.field not in _WHERE.get(setting.area, ()) or not bridges:
        return ""
    if setting.key not in bridges:
        alone = len(bridges) == 1 and not context.pair.leads
        if alone or _numbered(context, setting) or _domains(context, mismatch).isdisjoint(bridges.values()):
            return ""
    named = (name if name == vid else f"{name} (VLAN {vid})" for name, vid in sorted(bridges.items()))
    return say("bridges", device=context.position.device, bridges=" and ".join(named))


def _numbered(context: DeviceContext, setting: Setting) -> bool:
    """Return whether numbers say where an item is: a table does, or a network that a Wi-Fi name leads into."""
    reading = context.reading
    here = setting.item._replace(key=context.name_now(setting.key)) if setting.area == "ports" else setting.item
    if here in reading.on_bridges:
        return False
    return setting.area == "ssids" or (setting.area == "ports" and here.key in reading.in_tables)


def _domains(context: DeviceContext, mismatch: Mismatch) -> set[Domain]:
    """Return the domains that an item is in, and those that it should be in."""
    setting = mismatch.setting
    found: set[Any] = set()
    for state in (context.pair.observed, context.pair.expected.state):
        if setting.area == "ports" and setting.key in state.ports:
            found |= carried(state.ports[setting.key])
        elif setting.area == "ssids" and setting.key in state.ssids:
            vlan = state.ssids[setting.key].vlan
            found.update(vlan if isinstance(vlan, tuple) else (vlan,))
        elif setting.area in ("vlans", "gateways"):
            found.update(key for key in getattr(state, setting.area) if str(key) == setting.key)
    return set(in_order(each for each in found if each is not None))
