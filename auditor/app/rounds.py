"""Rounds over sites, one call each: what ``auditor audit`` and ``auditor capture`` do.

What goes wrong at one site costs that one alone, and is told as it happens; the worst exit code wins.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from auditor.app.arguments import age_limit, paths_of
from auditor.app.auditing import audit
from auditor.app.keeping import Keeper
from auditor.app.publishing import SiteAudited, publish
from auditor.app.sites import Site, sites_of
from auditor.app.tally import Tally, and_more
from auditor.capture.files import SavedCaptures
from auditor.capture.interface import CaptureSource
from auditor.capture.masking import Guarded
from auditor.core.report import Occasion, Report
from auditor.evidence import Recorded
from auditor.plan.loader import Plan
from auditor.plan.old_names import old_names
from auditor.review import review

if TYPE_CHECKING:
    from auditor.app.capturing import Access, SiteCaptures
    from auditor.capture.live import Limits, Result


@contextmanager
def _unseen(_: int) -> Iterator[Callable[[Result], None]]:
    yield lambda _: None


@dataclass(frozen=True, slots=True)
class Listener:
    """Who is told how a round goes; unsaid, nobody is.

    Attributes:
        problem: told of what goes wrong or is remarkable, a sentence each.
        site: told of each site as soon as it is audited and its files are written.
        reading: given the number of devices that are read live; what it enters is told of each, in another thread.
    """

    problem: Callable[[str], None] = lambda _: None
    site: Callable[[SiteAudited], None] = lambda _: None
    reading: Callable[[int], AbstractContextManager[Callable[[Result], None]]] = _unseen


def _access() -> Access:
    from auditor.app.capturing import Access  # noqa: PLC0415 - heavy, and not needed for saved captures

    return Access()


def _limits() -> Limits:
    from auditor.capture.live import Limits  # noqa: PLC0415 - as above

    return Limits()


@dataclass(frozen=True, slots=True)
class Live:
    """How devices are read over SSH.

    Attributes:
        access: how they are reached, and what opens them.
        limits: how many at once and how long.
        only: names of the devices that are asked for; all, if there are none.
        keep_going: whether the others are read where one fails.
    """

    access: Access = field(default_factory=_access)
    limits: Limits = field(default_factory=_limits)
    only: tuple[str, ...] = ()
    keep_going: bool = True


@dataclass(frozen=True, slots=True)
class SitesAudited:
    """What a round of audits came to.

    Attributes:
        exit_code: 0 conforming and complete, 1 findings, 3 incomplete, 2 a site not audited or results not written.
        sites: those that were audited, in their order.
        problems: what went wrong, and whose it is.
    """

    exit_code: int
    sites: tuple[SiteAudited, ...]
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SitesCaptured:
    """What a round of captures came to.

    Attributes:
        exit_code: 0 every device was read, 3 one was not, 2 a plan is wrong or a capture could not be written.
        devices: what became of each that was asked for.
        problems: what went wrong, and whose it is.
    """

    exit_code: int
    devices: tuple[Result, ...]
    problems: tuple[str, ...]


def audit_sites(
    plans: Sequence[str | Path],
    *,
    captures: str | Path | None = None,
    captured_on: date | None = None,
    live: Live | None = None,
    out: str | Path | None = None,
    occasion: Occasion = "routine",
    max_age: int | Literal["by occasion"] | None = "by occasion",
    history: str | Path | None = None,
    keep: bool = True,
    group: bool = False,
    told: Listener | None = None,
) -> SitesAudited:
    """Audit sites against their plans, write their reports and keep the runs.

    Args:
        plans: the plan file of each site.
        captures: the folder of saved captures, with a folder a site where there are several; the devices are read
            over SSH if unsaid.
        captured_on: the day of saved captures that do not tell theirs.
        live: how devices are read over SSH.
        out: the folder of the reports, with a folder a site where there are several; none are written if unsaid.
        occasion: why they are audited.
        max_age: how many days old a capture may be, ``None`` for any number; that of the occasion if unsaid.
        history: where runs are kept; the environment's or the user's own if unsaid.
        keep: whether they are kept.
        group: whether the umask says who may read what is written, and not its owner alone.
        told: who is told how it goes.

    Raises:
        UsageError: no plans, no such occasion, two plans are one site or would share a folder, or devices cannot be
            read as ``live`` says; nothing was audited.
    """
    age_limit(occasion, max_age)
    named = paths_of("plans", plans)
    listener = told or Listener()
    tally = Tally(listener.problem)
    saved, folder = Path(captures) if captures else None, Path(out) if out else None
    sites = sites_of(named, tally, sharing=bool(captures or out))
    sources = _saved(sites, saved, captured_on, tally) if saved else {}
    sites = [site for site in sites if site in sources or not saved]
    audited: list[SiteAudited] = []
    if sites:
        with Keeper(history, tally, none=not keep, group=group) as keeper:
            if not saved:
                below = {site: site.below(folder, "captures") for site in sites}
                captured_sites = _read(below, live or Live(), tally, listener, group=group)
                sources = {site: captured_sites.of(site.plan) for site in sites}
            for site in sites:
                ask = partial(audit, occasion=occasion, max_age=max_age)
                hand_on = partial(publish, told=listener.site, group=group)
                below_out, tell = site.below(folder), listener.problem
                work = partial(_audited, site, sources[site], below_out, keeper, ask=ask, hand_on=hand_on, tell=tell)
                if done := tally.attempt(site.label, work):
                    audited.append(done)
                    tally.add(done.report.exit_code)
    return SitesAudited(tally.code, tuple(audited), tuple(tally.problems))


def capture_sites(
    plans: Sequence[str | Path],
    out: str | Path,
    *,
    live: Live | None = None,
    group: bool = False,
    told: Listener | None = None,
) -> SitesCaptured:
    """Read the devices of sites over SSH and keep what they say, secrets taken out.

    Args:
        plans: the plan file of each site.
        out: the folder of the captures, with a folder a site where there are several.
        live: how devices are read.
        group: whether the umask says who may read what is written, and not its owner alone.
        told: who is told how it goes.

    Raises:
        UsageError: no plans, two plans are one site or would share a folder, or devices cannot be read as ``live``
            says.
    """
    named = paths_of("plans", plans)
    listener, live = told or Listener(), live or Live()
    tally = Tally(listener.problem)
    sites = sites_of(named, tally, sharing=True)
    if not sites:
        return SitesCaptured(tally.code, (), tuple(tally.problems))
    captured_sites = _read({site: site.below(Path(out)) for site in sites}, live, tally, listener, group=group)
    asked = [result for result in captured_sites.results.values() if not live.only or result.key[1] in live.only]
    tally.add(3 if any(result in captured_sites.failed for result in asked) else 0)
    return SitesCaptured(tally.code, tuple(asked), tuple(tally.problems))


def _audited(
    site: Site,
    source: CaptureSource,
    folder: Path | None,
    keeper: Keeper,
    *,
    ask: Callable[..., Report],
    hand_on: Callable[..., SiteAudited],
    tell: Callable[[str], None],
) -> SiteAudited:
    """Audit a site, keep the run, write its report and tell of it.

    Raises:
        ReportError: some of the report could not be written.
    """
    if remarks := [str(site.plan.problem(path, text)) for path, text in old_names(site.plan)]:
        tell(and_more(remarks))
    recorded = Recorded(site.plan, source) if folder else None
    notes = [*_unsound(site.plan), *_unplanned(source, site.plan)]
    report = keeper.keep(ask(site.plan, recorded or Guarded(site.plan, source), notes=notes, corrections=bool(folder)))
    return hand_on(site.label, report, folder, recorded)


def _unsound(plan: Plan) -> list[str]:
    """Return a remark where what is as planned may not work, because the plan is not sound itself."""
    errors = sum(remark.rule.level == "error" for remark in review(plan))
    found = f"{errors} error{'s' * (errors > 1)}"
    return [f'the plan has {found}, so what is as planned may not work: run "auditor review"'] if errors else []


def _unplanned(source: CaptureSource, plan: Plan) -> list[str]:
    """Return a remark for each saved capture that is of no device of the plan."""
    if not isinstance(source, SavedCaptures):
        return []
    return [
        f"{name} belongs to no device of the plan: add the device to the plan, or remove the capture"
        for name in source.unplanned(plan.data.devices)
    ]


def _saved(sites: list[Site], captures: Path, captured_on: date | None, tally: Tally) -> dict[Site, CaptureSource]:
    """Return the saved captures of sites, but for those that have no folder, which is told."""
    found: dict[Site, CaptureSource] = {}
    for site in sites:
        folder = site.below(captures) or captures
        if saved := tally.attempt(site.label, partial(SavedCaptures, folder, captured_on)):
            found[site] = saved
    return found


def _read(
    below: Mapping[Site, Path | None],
    live: Live,
    tally: Tally,
    listener: Listener,
    *,
    group: bool,
) -> SiteCaptures:
    """Read the devices of sites, and keep their captures where ``below`` has a folder for them.

    A capture that cannot be kept is told of, and all the same it can be audited.

    Raises:
        UsageError: the devices cannot be read in this way.
    """
    from auditor.app.capturing import capture, saving_below  # noqa: PLC0415 - heavy, and not needed for saved captures

    folders = {site.plan.file: folder for site, folder in below.items() if folder}
    unkept: dict[str, list[str]] = {}

    def lost(result: Result, why: str) -> None:
        unkept.setdefault(result.key[0], []).append(why)

    with listener.reading(sum(len(site.plan.data.devices) for site in below)) as tell:
        captured_sites = capture(
            [site.plan for site in below],
            live.access,
            live.limits,
            only=live.only,
            keep_going=live.keep_going,
            done=saving_below(folders, tell, lost, group=group),
        )
    for site in below:
        if reasons := unkept.get(site.plan.file):
            tally.fail(site.label, and_more(reasons))
    return captured_sites
