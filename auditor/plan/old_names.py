"""Names that a plan still has from earlier versions: they are understood, and a remark gives the one of today."""

from __future__ import annotations

from collections.abc import Iterator

from auditor.core.renamed import setting_now, value_now
from auditor.plan.loader import KeyPath, Plan


def old_names(plan: Plan) -> Iterator[tuple[KeyPath, str]]:
    """Yield where a plan uses a name that was changed, and what to write instead."""
    for index, deviation in enumerate(plan.data.deviations):
        here: KeyPath = ("deviations", index)
        setting, observed = setting_now(deviation.setting), value_now(deviation.setting, deviation.observed)
        if setting != deviation.setting:
            yield (*here, "setting"), f"{deviation.setting} is now {setting}: write the new name"
        if observed != deviation.observed:
            changed = [
                f"{old} is now {new}" for old, new in zip(deviation.observed, observed, strict=True) if old != new
            ]
            yield (*here, "observed"), f"{', '.join(changed)}: write the new names"
