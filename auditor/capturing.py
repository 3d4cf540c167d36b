"""Live capture of whole sites: the devices of plans, the ways to them, one round over all."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from auditor.capture.credentials import Wallet
from auditor.capture.hostkeys import KnownHosts
from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.live import Job, Key, Limits, LiveCaptures, Result, Round
from auditor.capture.masking import planned_secrets
from auditor.capture.reach import Reach
from auditor.capture.saving import save
from auditor.capture.session import Target
from auditor.errors import UsageError
from auditor.plan.loader import Plan
from auditor.platforms import catalogue


@dataclass(frozen=True, slots=True)
class Access:
    """How devices are reached, and what opens them.

    Attributes:
        config: the user's OpenSSH client configuration; it need not be there.
        known_hosts: the file of known host keys.
        accepted: fingerprints of host keys that a person has compared and accepted.
        environment: where user names and secrets are looked up.
        ask: asks a person for a password; ``None`` where nobody is there.
        keyring: gives a password by service and user name; ``None`` where there is no keyring.
    """

    config: Path | None = field(default_factory=lambda: Path.home() / ".ssh" / "config")
    known_hosts: Path = field(default_factory=lambda: Path.home() / ".ssh" / "known_hosts")
    accepted: frozenset[str] = frozenset()
    environment: Mapping[str, str] = field(default_factory=lambda: os.environ, repr=False)
    ask: Callable[[str], str] | None = None
    keyring: Callable[[str, str], str | None] | None = None


@dataclass(frozen=True, slots=True)
class Tour:
    """What a round over sites has read: a result for every device of every plan."""

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
) -> Tour:
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
        UsageError: a device that is asked for is in none of the plans, or a host key is accepted for more than one.
        PlatformError: a platform's data are broken.
    """
    every = list(plans)
    unknown = sorted(set(only) - {device for plan in every for device in plan.data.devices})
    if unknown:
        raise UsageError(f"--only {unknown[0]}: no device of the plan is called so")
    jobs: list[Job] = []
    left_out: dict[Key, Result] = {}
    for plan in every:
        wallet = Wallet(plan.data.reference or plan.data.site, access.environment, access.ask, access.keyring)
        for device in plan.data.devices:
            key = (plan.file, device)
            if only and device not in only:
                left_out[key] = Result(key, NotCaptured("it was left out of this run"))
            elif not plan.data.devices[device].address:
                left_out[key] = Result(key, NotCaptured("the plan has no address of it: add one, or save its capture"))
                done(left_out[key])
            else:
                jobs.append(_job(plan, device, access, wallet))
    if access.accepted and len(jobs) != 1:
        raise UsageError(
            f"--accept is about the host key of one device, and {len(jobs)} would be read: name the one with --only"
        )
    found = Round(limits or Limits(), done, keep_going=keep_going).run(jobs)
    keys = [(plan.file, device) for plan in every for device in plan.data.devices]
    return Tour({key: left_out.get(key) or found[key] for key in keys})


def saving_below(
    folders: Mapping[str, Path], tell: Callable[[Result], None], *, group: bool = False
) -> Callable[[Result], None]:
    """Return what saves each capture as soon as it is there, and then tells of it.

    Args:
        folders: by plan file, where its captures go.
        tell: told of each device behind that.
        group: whether the umask says who may read them, and not their owner alone.
    """

    def done(result: Result) -> None:
        if isinstance(result.captured, Captured) and result.record and result.key[0] in folders:
            save(folders[result.key[0]], result.record, result.captured.files, group=group)
        tell(result)

    return done


def _job(plan: Plan, device: str, access: Access, wallet: Wallet) -> Job:
    """Return how a device is read; whoever is to be asked for a password is asked here, before the round."""
    entry = plan.data.devices[device]
    reach = Reach(access.config, KnownHosts(access.known_hosts, "", access.accepted), wallet.of)
    address = str(entry.address)
    place = reach.place(device, address)
    target = Target(
        device=device,
        host=place.host,
        port=place.port,
        credentials=wallet.of(device, place.user, place.key_files),
        connect=lambda timeout: reach.open(place, timeout),
        known=KnownHosts(access.known_hosts, device, access.accepted),
    )
    planned = planned_secrets(plan, access.environment)
    return Job(
        (plan.file, device), address, catalogue.get(entry.platform), target, lambda: planned | frozenset(wallet.given)
    )
