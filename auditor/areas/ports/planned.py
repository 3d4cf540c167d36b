"""What a plan implies for ports."""

from __future__ import annotations

from auditor.areas.planning import Planning
from auditor.core.state import Port, Setting
from auditor.core.values import VlanSet
from auditor.plan.schema import PortPlan, UnlistedAccess


def port(planning: Planning, name: str, plan: PortPlan) -> Port:
    """Return what a planned port should be."""
    if plan.description is None:
        planning.leave_open("ports", name, "description")
    if plan.off:
        planning.leave_open("ports", name, "mode", "untagged", "tagged", "voice")
        return Port(enabled=False, description=plan.description)
    if plan.uplink:
        planning.leave_open("ports", name, "untagged", "tagged", "voice")
        return Port(mode="routed", description=plan.description)
    if plan.access:
        return _access(planning, plan, plan.access)
    names = list(planning.subnets) if plan.trunk == "all" else list(plan.trunk or [])
    if plan.trunk == "all":
        planning.carries_all.add(name)
    native = planning.vid(plan.native) if plan.native else None
    tagged = VlanSet(planning.vid(subnet) for subnet in names).but(native)
    return Port(mode="trunk", untagged=native, tagged=tagged, description=plan.description)


def _access(planning: Planning, plan: PortPlan, subnet: str) -> Port:
    untagged = planning.vid(subnet)
    voice = planning.vid(plan.voice) if plan.voice else None
    if voice and Setting("ports", "", "voice") in planning.platform.lacks:
        return Port(mode="trunk", untagged=untagged, tagged=VlanSet([voice]), description=plan.description)
    return Port(mode="access", untagged=untagged, voice=voice, description=plan.description)


def unlisted(planning: Planning) -> Port | None:
    """Return what ports should be that the plan does not list; ``None`` where they are not judged."""
    rule = planning.device.unlisted_ports or planning.plan.data.defaults.unlisted_ports
    if isinstance(rule, UnlistedAccess):
        return Port(mode="access", untagged=planning.vid(rule.access))
    return Port(enabled=False) if rule == "disabled" else None
