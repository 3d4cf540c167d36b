"""Wi-Fi names: the VLAN that clients come into, and how they are protected."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, ClassVar

from auditor.areas.area import Area, Impact, Mismatch, Ruling, Sighting, exposure, outage, upkeep
from auditor.areas.observation import Observation
from auditor.areas.pair import Pair
from auditor.areas.planning import Planning
from auditor.areas.ssids.observed import ObservedSsids
from auditor.core.report import Doubt
from auditor.core.service import ServicePath
from auditor.core.state import Setting, Ssid
from auditor.plan.schema import SECURITIES, WifiPlan

_EITHER = " or, depending on the radio, "


class SsidsArea(Area):
    """A name that several radios broadcast is one item; where one of them differs, the setting does."""

    name = "ssids"
    on_paths = ("vlan", "enabled")
    judged_apart = ("passphrase_matches",)
    told_by: ClassVar[Mapping[str, str]] = {
        "vlan": "wifi.vlan wifi.network wifi.interface",
        "security": "wifi.security wifi_profile.security",
        "bands": "wifi.band wifi.radios radio.ssids",
        "hidden": "wifi.hidden wifi.broadcast",
        "client_isolation": "wifi.isolation wifi.forwarding interface.isolation interface.isolated_in",
        "enabled": "wifi.disabled radio.disabled wifi.interface",
        "passphrase_matches": "wifi.passphrase wifi_profile.passphrase",
    }
    sentences: ClassVar[Mapping[str, str]] = {
        "absent": "Wi-Fi {name} is missing: clients cannot join it",
        "unplanned": "Wi-Fi {name} is broadcast but not in the plan",
        "no vlan": "clients of Wi-Fi {name} are placed in no VLAN",
        "vlan": "clients of Wi-Fi {name} are placed in {nets}, not {planned}",
        "weaker": "Wi-Fi {name} is protected by {found}, which is weaker than the planned {planned}",
        "other security": "Wi-Fi {name} requires {found}: clients set up for {planned} may fail to join",
        "not isolated": "clients of Wi-Fi {name} can reach each other",
        "off": "Wi-Fi {name} is switched off",
        "off on some": "Wi-Fi {name} is switched off on some radios",
        "passphrase": "the passphrase of Wi-Fi {name} differs from the plan: clients cannot join",
        "bands": "the bands of Wi-Fi {name} differ from the plan",
        "field": "the setting {field} of Wi-Fi {name} differs from the plan",
    }

    def planned(self, planning: Planning) -> dict[str, Ssid]:
        """Return the names that the device should broadcast."""
        aired = {name: wifi for name, wifi in planning.plan.data.wifi.items() if planning.name in wifi.on}
        planning.passphrases = {name: wifi.passphrase.env for name, wifi in aired.items() if wifi.passphrase}
        return {name: self._planned(planning, name, wifi) for name, wifi in aired.items()}

    def _planned(self, planning: Planning, name: str, wifi: WifiPlan) -> Ssid:
        if wifi.bands is None:
            planning.leave_open(self.name, name, "bands")
        if wifi.passphrase is None:
            planning.leave_open(self.name, name, "passphrase_matches")
        return Ssid(
            vlan=planning.vid(wifi.subnet),
            security=wifi.security,
            bands=tuple(sorted(wifi.bands)) if wifi.bands is not None else None,
            hidden=wifi.hidden,
            client_isolation=wifi.client_isolation,
            passphrase_matches=True if wifi.passphrase else None,
        )

    def observed(self, seen: Observation) -> dict[str, Ssid]:
        """Return the names that lines set up; what another device manages is not shown here."""
        names = ObservedSsids(seen.topology)
        found = names.build(seen.evidence)
        seen.passphrases.update(names.passphrases)
        seen.aired_on_bridges |= names.on_bridges
        seen.not_shown.update(names.not_shown)
        if seen.topology.system.wifi_elsewhere or names.elsewhere:
            seen.not_shown[Setting(self.name)] = "check its Wi-Fi names on the manager of its access points"
        return found

    def complete(self, pair: Pair) -> None:
        """Where the bands are planned and right, a radio that is off and not planned is no nonconformity."""
        ssids: dict[str, Ssid] = dict(pair.observed.ssids)
        for name, wanted in pair.expected.state.ssids.items():
            found = ssids.get(name)
            if found and wanted.bands is not None and found.bands == wanted.bands and isinstance(found.enabled, tuple):
                ssids[name] = found.model_copy(update={"enabled": True})
        pair.observe(ssids=ssids)

    def rulings(self, pair: Pair, passphrase: Callable[[str], bool | Doubt]) -> Iterator[Ruling]:
        """Yield the rulings on passphrases."""
        for name in pair.expected.passphrases:
            setting = Setting(self.name, name, "passphrase_matches")
            if name not in pair.observed.ssids or setting in pair.unverified:
                continue
            verdict = passphrase(name)
            if isinstance(verdict, Doubt):
                yield setting, verdict
            elif not verdict:
                yield Mismatch(setting, "differs", True, False)

    def unplanned(self, items: Mapping[str, Any], pair: Pair) -> Mapping[str, Any]:  # noqa: ARG002
        """What is not broadcast is not there."""
        return {name: ssid for name, ssid in items.items() if ssid.enabled}

    def impact(self, m: Mismatch, seen: Sighting) -> Impact:
        """Tell who cannot join, and who can that should not, or where they come in."""
        name = f"{m.setting.key!r} on {seen.device}"
        match m.setting.field:
            case "":
                return outage("absent", name=name) if m.kind == "absent" else exposure("unplanned", name=name)
            case "vlan":
                return self._vlan(m, seen, name)
            case "security":
                found = _EITHER.join(m.observed) if isinstance(m.observed, list) else m.observed
                values = {"name": name, "found": found, "planned": m.expected}
                weaker = _weaker(m.observed, m.expected)
                return exposure("weaker", **values) if weaker else outage("other security", **values)
            case "client_isolation" if m.expected:
                return exposure("not isolated", name=name)
            case "enabled":
                return outage("off on some" if m.observed else "off", name=name)
            case "passphrase_matches":
                return outage("passphrase", name=name)
            case "bands":
                return upkeep("bands", name=name)
        return upkeep("field", field=m.setting.field.replace("_", " "), name=name)

    def _vlan(self, m: Mismatch, seen: Sighting, name: str) -> Impact:
        if m.observed is None:
            return outage("no vlan", name=name)
        found = m.observed if isinstance(m.observed, list) else [m.observed]
        nets = _EITHER.join(seen.names.net(vid) for vid in found)
        return exposure("vlan", name=name, nets=nets, planned=seen.names.net(m.expected))

    def serves(self, setting: Setting, device: str, path: ServicePath) -> bool:
        """A path begins at its Wi-Fi name."""
        return path.device == device and bool(setting.key) and setting.key in path.places


def _weaker(observed: Any, expected: Any) -> bool:
    """Return whether some observed protection is weaker than planned; an unknown one counts as weaker."""
    order = {name: position for position, name in enumerate(SECURITIES)}
    found = observed if isinstance(observed, list) else [observed]
    return any(order.get(name, -1) < order.get(expected, 0) for name in found)
