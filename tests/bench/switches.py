"""Made-up IOS switches of about 630 lines for the benchmark, each different: VLANs, addresses, descriptions."""

from __future__ import annotations

import random


def switch(seed: int) -> str:
    """Return the running configuration of one switch."""
    dice = random.Random(seed)
    vlans = sorted(dice.sample(range(10, 1000), 20))
    lines = ["version 15.2", "service timestamps log datetime msec", "!", f"hostname sw{seed}", "!"]
    lines += ["vtp mode transparent", "!"]
    for vid in vlans:
        lines += [f"vlan {vid}", f" name net-{vid}", "!"]
    net = seed % 250
    lines += [f"ip dhcp excluded-address 10.{i}.{net}.1 10.{i}.{net}.49" for i in range(6)]
    for index, vid in enumerate(vlans[:6]):
        lines += ["!", f"ip dhcp pool net-{vid}", f" network 10.{index}.{net}.0 255.255.255.0"]
        lines += [f" default-router 10.{index}.{net}.1", " dns-server 192.0.2.53", " domain-name clinic.example"]
        lines += [" lease 0 12"]
    lines.append("!")
    for port in range(1, 53):
        lines += [f"interface GigabitEthernet1/0/{port}", *_port(dice, port, seed, vlans), "!"]
    for index, vid in enumerate(vlans[:6]):
        lines += [f"interface Vlan{vid}", f" description gateway of net-{vid}"]
        lines += [f" ip address 10.{index}.{net}.1 255.255.255.0", " ip helper-address 192.0.2.67", "!"]
    lines += ["ip http server", "no ip http secure-server", "logging host 192.0.2.5", "ntp server 192.0.2.1", "!"]
    lines += [f"access-list 10 permit 10.{number}.0.0 0.0.255.255" for number in range(20)]
    lines += ["line con 0", "line vty 0 4", " transport input ssh", "!", "end", ""]
    return "\n".join(lines)


def _port(dice: random.Random, port: int, seed: int, vlans: list[int]) -> list[str]:
    kind = dice.random()
    if kind < 0.7:
        text = f"desk {port} of floor {seed}" if dice.random() < 0.6 else "outlet"
        lines = [f" description {text}", f" switchport access vlan {dice.choice(vlans)}", " switchport mode access"]
        lines += [f" switchport voice vlan {vlans[3]}", " switchport nonegotiate"]
        return [*lines, " storm-control broadcast level 1.00", " spanning-tree portfast"]
    if kind < 0.85:
        allowed = ",".join(str(vid) for vid in vlans[:12])
        lines = [" description uplink", " switchport trunk encapsulation dot1q"]
        lines += [f" switchport trunk native vlan {vlans[0]}", f" switchport trunk allowed vlan {allowed}"]
        return [*lines, " switchport mode trunk", " switchport nonegotiate"]
    return [" shutdown"]
