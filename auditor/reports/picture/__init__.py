"""The picture of a site: what is in it (scene), where it stands (layout). Drawing it is a template's affair."""

from __future__ import annotations

from auditor.model.report import Report
from auditor.reports.picture.layout import NARROW, WIDE, placed
from auditor.reports.picture.scene import scene_of
from auditor.reports.picture.shapes import Picture


def pictures(report: Report) -> list[Picture]:
    """Return a site's picture for wide screens and paper, and for narrow screens."""
    scene = scene_of(report)
    return [placed(scene, WIDE), placed(scene, NARROW)]
