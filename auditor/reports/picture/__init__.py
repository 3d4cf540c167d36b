"""The picture of a site: what is in it (scene), where it stands (layout). Drawing it is a template's affair."""

from __future__ import annotations

from auditor.core.report import Report
from auditor.reports.picture.layout import NARROW, PAPER, WIDE, placed
from auditor.reports.picture.scene import scene_of
from auditor.reports.picture.shapes import Picture

_UPRIGHT = 1.4
"""How much higher than wide the room on a page of A4 is."""


def pictures(report: Report) -> list[Picture]:
    """Return a site's picture for wide screens and paper, and for narrow screens."""
    scene = scene_of(report)
    return [placed(scene, WIDE), placed(scene, NARROW)]


def picture_for_paper(report: Report) -> Picture:
    """Return a site's picture for a page of A4: the one that is shrunk the least on it."""
    scene = scene_of(report)
    return min((placed(scene, room) for room in PAPER), key=lambda found: max(found.width, found.height / _UPRIGHT))
