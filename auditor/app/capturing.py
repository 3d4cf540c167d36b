"""Live capture of whole sites: the devices of plans, the ways to them, one run over all."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from auditor.capture.addresses import resolved
from auditor.capture.connection import Target
from auditor.capture.credentials import Wallet
from auditor.capture.hostkeys import KnownHosts
from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.lines import printable
from auditor.capture.live import CaptureRun, Job, Key, Limits, LiveCaptures, Result
from auditor.capture.masking import planned_secrets
from auditor.capture.peers import Address
from auditor.capture.reach import open_way
from auditor.capture.routes import Route, Routes, at
from auditor.capture.saving import save
from auditor.capture.sshconfig.lookup import Configuration, Names
from auditor.errors import AuditorError, UsageError
from auditor.plan.loader import Plan
from auditor.platforms import catalogue
from auditor.unforeseen import LOG, Unforeseen, attempt


@dataclass(frozen=True, slots=True)
class Access:
    """How devices are reached, and what opens them.

    Attributes:
        config: the user's OpenSSH client configuration; it need not be there.
        known_hosts: the file of known host keys.
        accepted: fingerprints of host keys that a person has compared and accepted.
        environment: where user names and secrets are looked up.
        ask: asks a person for a password; ``None`` where no person is there.
        keyring: gives a password by service and user name; ``None`` where there is no keyring.
    """

    config: Path | None = field(default_factory=lambda: Path.home() / ".ssh" / "config")
    known_hosts: Path = field(default_factory=lambda: Path.home() / ".ssh" / "known_hosts")
    accepted: frozenset[str] = frozenset()
    environment: Mapping[str, str] = field(default_factory=lambda: os.environ, repr=False)
    ask: Callable[[str], str] | None = None
    keyring: Callable[[str, str], str | None] | None = None


@dataclass(frozen=True, slots=True)
class SiteCaptures:
    """What a run over sites has read: a result for every device of every plan."""

    results: dict[Key, Result]

    def of(self, plan: Plan) -> LiveCaptures:
        """Return the captures of one site, as a source for the audit."""
        return LiveCaptures(plan.file, self.results)

    @property
    def failed(self) -> list[Result]:
        """The devices that were not read."""
        return [result for result in self.results.values() if isinstance(result.captured, NotCaptured)]


def capture(
    plans: Iterable[Plan],
    access: Access,
    limits: Limits | None = None,
    *,
    only: Collection[str] = (),
    keep_going: bool = True,
    done: Callable[[Result], None] = lambda _: None,
) -> SiteCaptures:
    """Read the devices of plans over SSH.

    Args:
        plans: the sites.
        access: how their devices are reached.
        limits: how many at once and how long.
        only: names of the devices that are asked for; all, if there are none.
        keep_going: whether the others are read where one fails.
        done: told of each device as it ends, in another thread.

    Returns:
        A result for each device; one that could not be read is a result, too.

    Raises:
        PlanError: a plan has no devices.
        UsageError: a device that is asked for is in none of the plans, a host key is accepted for more than one, a
            user, key or secret is more than one line, or the SSH configuration cannot be carried out for a device.
        PlatformError: a platform's data are broken.
    """
    every = list(plans)
    _require(only, every)
    done = partial(_logged, {plan.file: site_of(plan) for plan in every}, done)
    keys = [(plan.file, device) for plan in every for device in plan.data.devices]
    left_out: dict[Key, Result] = {}
    ways: list[tuple[Plan, str, Route]] = []
    configuration = Configuration(access.config)
    wallets = {plan.file: Wallet(site_of(plan), access.environment, access.ask, access.keyring) for plan in every}
    for plan in every:
        routes = Routes(configuration, wallets[plan.file])
        for device in plan.data.devices:
            key = (plan.file, device)
            if only and device not in only:
                left_out[key] = Result(key, NotCaptured("skipped (--only)"))
                continue
            way = _way(plan, device, routes, alone=len(every) == 1)
            if isinstance(way, Route):
                ways.append((plan, device, way))
            else:
                left_out[key] = Result(key, way)
                done(left_out[key])
    if access.accepted and len(ways) != 1:
        raise UsageError(
            f"--accept is about the host key of one device, and {len(ways)} would be read: name the one with --only"
        )
    for shared in _not_apart(ways):
        left_out[shared.key] = shared
        done(shared)
    known = {plan.file: wallets[plan.file].given | planned_secrets(plan, access.environment) for plan in every}
    jobs = [
        _job(plan, device, route, access, frozenset(known[plan.file]))
        for plan, device, route in ways
        if (plan.file, device) not in left_out
    ]
    found = CaptureRun(limits or Limits(), done, keep_going=keep_going).run(jobs)
    return SiteCaptures({key: left_out.get(key) or found[key] for key in keys})


def _logged(sites: Mapping[str, str], done: Callable[[Result], None], result: Result) -> None:
    """Log what became of a device, but not why: a reason may quote it."""
    file, device = result.key
    outcome = "captured" if isinstance(result.captured, Captured) else "not captured"
    LOG.info("%s: %s: %s", sites[file], device, outcome)
    done(result)


def _require(only: Collection[str], plans: list[Plan]) -> None:
    """See that every plan has devices, and that those are among them that are asked for.

    Raises:
        PlanError: a plan has no devices.
        UsageError: a device that is asked for is in none of the plans.
    """
    for plan in plans:
        plan.require_devices()
    unknown = sorted(set(only) - {device for plan in plans for device in plan.data.devices})
    if unknown:
        raise UsageError(f"--only {unknown[0]}: the plan has no device named {unknown[0]}")


def site_of(plan: Plan) -> str:
    """Return what a site is called: the plan's reference, or else its name."""
    return plan.data.reference or plan.data.site


def _way(plan: Plan, device: str, routes: Routes, *, alone: bool) -> Route | NotCaptured:
    """Return the way to a device, or why there is none.

    Raises:
        UsageError: a user, key or secret is more than one line, or the SSH configuration cannot be carried out for it.
    """
    if not plan.data.devices[device].address:
        return NotCaptured("the plan has no address for it: add one, or save its capture")
    route = attempt(partial(routes.to, device, _names(plan, device, alone=alone)))
    return NotCaptured(f"not attempted: {route.text}") if isinstance(route, Unforeseen) else route


def _names(plan: Plan, device: str, *, alone: bool) -> Names:
    """Return the names under which the SSH configuration may speak of a device; its own where one site is read."""
    address = str(plan.data.devices[device].address)
    site = [f"{plan.data.reference}-{device}"] if plan.data.reference else []
    return Names((address, *site), (device,) if alone else (), printable(f"{device} ({address})"))


def _not_apart(ways: list[tuple[Plan, str, Route]]) -> Iterator[Result]:
    """Yield that devices are not captured whose ways lead to the same place: at most one of them can be there."""
    addresses = resolved({route.first for _, _, route in ways})
    there: dict[tuple[Address, ...], dict[tuple[str, str], None]] = {}
    for plan, device, route in ways:
        for end in route.ends(addresses):
            there.setdefault(end, {})[site_of(plan), device] = None
    for plan, device, route in ways:
        own = (site_of(plan), device)
        shared = [end for end in route.ends(addresses) if len(there[end]) > 1]
        others = dict.fromkeys(other for end in shared for other in there[end] if other != own)
        if others:
            address = shared[0][-1][0]
            spelt = f" ({address})" if address != route.host else ""
            reason = (
                f"the way to it ends at {at(route.host, route.port)}{spelt}, and so does the way to "
                f"{', '.join(f'{name} of {site}' for site, name in others)}: one device cannot be both, and neither "
                "was read. Correct the addresses in the plan or the SSH configuration"
            )
            yield Result((plan.file, device), NotCaptured(reason))


def saving_below(
    folders: Mapping[str, Path],
    tell: Callable[[Result], None],
    lost: Callable[[Result, str], None],
    *,
    group: bool = False,
) -> Callable[[Result], None]:
    """Return what saves each capture as soon as it is there, and then tells of it.

    Args:
        folders: by plan file, where its captures go.
        tell: told of each device behind that.
        lost: told of a capture that could not be saved, and why; the run goes on, and what was read can be audited.
        group: whether the umask says who may read them, and not their owner alone.
    """

    def done(result: Result) -> None:
        try:
            saved = attempt(lambda: _save(result, folders, group=group))
        except AuditorError as error:
            lost(result, str(error))
        else:
            if isinstance(saved, Unforeseen):
                lost(result, f"the capture of {result.key[1]} was not saved: {saved.text}")
        tell(result)

    return done


def _save(result: Result, folders: Mapping[str, Path], *, group: bool) -> None:
    if isinstance(result.captured, Captured) and result.record and result.key[0] in folders:
        save(folders[result.key[0]], result.record, result.captured.files, group=group)


def _job(plan: Plan, device: str, route: Route, access: Access, secrets: frozenset[str]) -> Job:
    """Return how a device is read; ``secrets`` are those that it may print and that must not be shown."""
    entry = plan.data.devices[device]
    jump_keys = KnownHosts(access.known_hosts, "", access.accepted)
    target = Target(
        device=device,
        host=route.host,
        port=route.port,
        credentials=route.credentials,
        connect=lambda timeout: open_way(route, jump_keys, timeout),
        known=KnownHosts(access.known_hosts, device, access.accepted),
    )
    jump_hosts = tuple(str(hop) for hop in route.hops)
    platform = catalogue.get(entry.platform)
    return Job(
        (plan.file, device),
        str(entry.address),
        platform,
        target,
        jump_hosts,
        route.remarks,
        secrets,
        owner=(site_of(plan), device),
    )
