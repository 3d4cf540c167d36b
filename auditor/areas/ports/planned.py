"""What a plan implies for ports."""

from __future__ import annotations

from auditor.areas.planning import Planning
from auditor.core.state import Port, Setting
from auditor.core.values import VlanSet
from auditor.plan.schema import PortPlan, UnlistedAccess

OF_ANY = ("description",)
"""What a plan may say of any port, whatever its kind; its keys are the fields of a port."""


def port(planning: Planning, name: str, plan: PortPlan) -> Port:
    """Return what a planned port should be."""
    said = {each: getattr(plan, each) for each in OF_ANY}
    planning.leave_open("ports", name, *(each for each, value in said.items() if value is None))
    return _by_kind(planning, name, plan).model_copy(update=said)


def _by_kind(planning: Planning, name: str, plan: PortPlan) -> Port:
    if plan.off:
        planning.leave_open("ports", name, "mode", "untagged", "tagged", "voice")
        return Port(enabled=False)
    if plan.uplink:
        planning.leave_open("ports", name, "untagged", "tagged", "voice")
        if planning.lack("uplinks"):
            planning.leave_open("ports", name, "mode")
            return Port()
        return Port(mode="routed")
    if plan.access:
        return _access(planning, name, plan.access, plan.voice)
    names = list(planning.subnets) if plan.trunk == "all" else list(plan.trunk or [])
    if plan.trunk == "all":
        planning.carries_all.add(name)
    native = planning.vid(plan.native) if plan.native else None
    tagged = VlanSet(planning.vid(subnet) for subnet in names).but(native)
    return Port(mode="trunk", untagged=native, tagged=tagged)


def _access(planning: Planning, name: str, subnet: str, voice_subnet: str | None) -> Port:
    untagged = planning.vid(subnet)
    voice = planning.vid(voice_subnet) if voice_subnet else None
    lack = planning.lack("ports", "voice")
    if voice and lack:
        planning.lacking[Setting("ports", name, "voice")] = lack.why
        return Port(mode="trunk", untagged=untagged, tagged=VlanSet([voice]))
    return Port(mode="access", untagged=untagged, voice=voice)


def unlisted(planning: Planning) -> Port | None:
    """Return what ports should be that the plan does not list; ``None`` where they are not judged."""
    rule = planning.device.unlisted_ports or planning.plan.data.defaults.unlisted_ports
    if isinstance(rule, UnlistedAccess):
        return Port(mode="access", untagged=planning.vid(rule.access))
    return Port(enabled=False) if rule == "disabled" else None
