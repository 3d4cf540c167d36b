"""Why a proposal is withheld, in sentences that end in what to do by hand; all wording of it is here."""

from __future__ import annotations

WORDS = {
    # addresses
    "own address": (
        "{device} is managed at {address}, and this removes that address from {where} or adds it a second time: "
        "whoever works on {device} is cut off. Move the address from the console, then audit again."
    ),
    "way in": (
        "{device} does not have its planned address {address}, so it may be managed at {gone}: set the planned "
        "address first, see that {device} answers there, then audit again."
    ),
    "wanted": (
        "{gone} is planned on {planned} and is still on {where}: move it there by hand, with everything that "
        "belongs to it, then audit again."
    ),
    "steps": (
        "This platform cannot replace this in one command: in between, {where} has neither {gone} nor {come}, and "
        "a session that comes by it ends there. Change it from the console, then audit again."
    ),
    "by address": (
        "This platform removes an address by the address alone, whatever its mask: removing {gone} can also "
        "remove {come}. Change it from the console, and see what {where} has before you leave."
    ),
    "lease": (
        "The address of {where} is leased, and the default route comes with the lease. Set the fixed address, the "
        "default route and the DNS servers together, from the console."
    ),
    "last route": (
        "The default route may come with the lease on {where}, since no other is configured: set a default route "
        "first, then audit again."
    ),
    "uplink fixed": (
        "The default route and the DNS servers of {where} come together with its address from the carrier, and "
        "the plan has no next hop for a fixed one. Set the address, the default route and the DNS servers "
        "together, from inside the site."
    ),
    "uplink routes": (
        "{line} names an address in the network of {gone}, which {where} would leave: change both together, from "
        "inside the site."
    ),
    "way out": (
        "The default route leads to {hop}, which {where} would no longer reach: change both together, from the console."
    ),
    "own network": (
        "{device} would be managed at {address}, in another network than now, and no default route into that "
        "network is configured: change both together, from the console."
    ),
    "overlap": "{come} overlaps with {other} on {elsewhere}: correct that address first, then audit again.",
    "shared unplanned": (
        "{where} shares {shared} with another router by HSRP or VRRP, and the plan does not: find that router first. "
        "If both are to stay, write both and the shared address into the plan; if not, change both together by hand."
    ),
    # what hangs on a section, and what shares it
    "in use": "{line} still refers to {name}: change or remove that first, then audit again.",
    "names network": (
        "{line} names an address in the network of {gone}: see whether it depends on {where}; if it does not, "
        "remove both by hand, then audit again."
    ),
    "not undone": (
        "The section {section} at {line} has lines that the undo would not bring back: keep a copy of it, then "
        "remove it by hand."
    ),
    "name taken": (
        "{section} is already there for something else: look what it is for, choose another name or number, then set "
        "this up by hand."
    ),
    "vlan in use": "{user} still uses VLAN {vid}: correct that first, then audit again.",
    "port address": (
        "{port} has an address of its own, which would no longer work: see what it is used for, then change the "
        "port by hand."
    ),
    "shared": "{name} also serves another scope: give this scope its own by hand, then audit again.",
    "serves others": (
        "The same radio broadcasts other Wi-Fi names, which would go off with it: remove this one by hand."
    ),
    # ports, switching, routing
    "way in off": (
        "{device} may be managed by way of {port}, and this switches it off: see that {device} answers by another "
        "port, then switch {port} off from the console."
    ),
    "way in vlan": (
        "{device} may be managed by way of VLAN {vid} on {port}, and this changes whether or how {port} carries "
        "that VLAN. Until the other end of the cable has the same, whoever comes that way is cut off: change both "
        "ends, and {port} from the console of {device}."
    ),
    "way in mode": (
        "{device} may be managed by way of {port}, and its mode changes in several commands: a session that comes "
        "that way may end before the last one. Change {port} from the console."
    ),
    "filtering": (
        "This switches VLAN filtering on for a whole bridge or switch: what its table does not list is cut off at "
        "once, perhaps the device itself. Check the table for every port and for the device itself, then switch "
        "filtering on from the console."
    ),
    "bridges": (
        "{device} has no VLAN numbers in {bridges}, so only the bridge says what belongs together. Move what is in the "
        "wrong bridge, or in none, by hand, then audit again."
    ),
    "routing": (
        "The default gateway may no longer count once {device} routes, and there is no default route: set the "
        "default route and switch routing on together, from the console."
    ),
    # services
    "snmp": (
        "SNMP is never switched on by a proposal, because it needs a secret that only you may choose: set a "
        "community of your own or an SNMPv3 user, limit who may ask, then switch it on by hand."
    ),
    "logins": (
        "None of the ways to log in that are open now ({now}) would remain: open {new} first, log in by it in a "
        "second session, then close the others by hand."
    ),
    # DHCP
    "address first": (
        "The scope follows the address of {where}, which differs from the plan: correct that address first, then "
        "audit again. Do not switch off or change the scope."
    ),
    "same scope": (
        "The scopes {planned} and {found} may be the same one with a slip in its mask or network: correct that by "
        "hand instead of removing one and adding the other, then audit again."
    ),
    "other pool": (
        "The pool in use leases {outside}, which is not in {prefix}, so it may be that of another scope: point "
        "this scope to its own pool by hand, then audit again."
    ),
    "swapped": (
        "The scopes {prefix} and {other} have each other's settings, as if they were swapped: swap them back by "
        "hand, then audit again."
    ),
}


def say(reason: str, /, **values: object) -> str:
    """Return a reason with its values."""
    return WORDS[reason].format(**values)
