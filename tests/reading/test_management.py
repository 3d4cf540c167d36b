"""Settings of the whole device: names, servers, ways to log in."""

from __future__ import annotations

from typing import Any

import pytest

from tests.reading.texts import ios, routeros, state_of, uci


def management(reading: Any, field: str) -> Any:
    return state_of(reading)["management"][field]


@pytest.mark.parametrize(
    ("lines", "logins"),
    [
        ("line vty 0 4\n transport input ssh", ["ssh"]),
        ("line vty 0 4\n transport input telnet ssh", ["ssh", "telnet"]),
        ("line vty 0 4\n transport input ssh\nline vty 5 15\n transport input telnet", ["ssh", "telnet"]),
        ("line vty 0 4\n transport input ssh\nline vty 5 15\n transport input none", ["ssh"]),
        ("line vty 0 4\n transport input none", []),
        ("line vty 0 4\n transport input all", ["ssh", "telnet"]),
        ("line vty 0 4\n transport input all\nip http server", ["http", "ssh", "telnet"]),
        ("line con 0\n transport input telnet", []),
        ("ip http server\nip http secure-server", ["http", "https"]),
        ("ip http server\nno ip http server", []),
        ("no ip http server\nip http secure-server", ["https"]),
    ],
)
def test_ways_to_log_in_to_a_switch(lines: str, logins: list[str]):
    # "transport input" is about lines that a terminal session comes in by; the web server has lines of its own
    assert management(ios(lines), "logins") == logins


@pytest.mark.parametrize(
    ("lines", "field", "value"),
    [
        (
            "ntp server 192.0.2.1 prefer\nntp server vrf m 192.0.2.2\nntp server pool.example",
            "ntp",
            ["192.0.2.1", "pool.example"],  # nothing is in that VRF
        ),
        (
            "interface Vlan9\n vrf forwarding m\n ip address 192.0.2.9 255.255.255.0\nntp server vrf m 192.0.2.2",
            "ntp",
            ["192.0.2.2"],
        ),
        ("sntp server 192.0.2.1", "ntp", ["192.0.2.1"]),
        ("no ntp server 192.0.2.1", "ntp", []),
        (
            "ip name-server 192.0.2.2 192.0.2.1\nip name-server 192.0.2.3",
            "dns",
            ["192.0.2.1", "192.0.2.2", "192.0.2.3"],
        ),
        (
            "logging host 192.0.2.1 transport udp port 5514\nlogging 192.0.2.2\nlogging buffered 4096",
            "syslog",
            ["192.0.2.1", "192.0.2.2"],
        ),
        ("logging trap notifications\nlogging source-interface Vlan1", "syslog", []),
        ("snmp-server community notreal RO", "snmp", True),
        ("snmp-server group g v3 priv", "snmp", True),
        ("snmp-server location attic\nsnmp-server contact nobody", "snmp", False),
    ],
)
def test_servers_of_a_switch(lines: str, field: str, value: Any):
    assert management(ios(lines), field) == value


@pytest.mark.parametrize(
    ("lines", "logins"),
    [
        ("", ["http", "ssh", "telnet"]),
        ("set telnet disabled=yes\nset www disabled=yes", ["ssh"]),
        ("set www-ssl certificate=x disabled=no", ["http", "https", "ssh", "telnet"]),
        ("set ssh address=10.0.0.0/8 port=2222\nset telnet disabled=yes", ["http", "ssh"]),
        ("set telnet disabled=yes\nset telnet disabled=no", ["http", "ssh", "telnet"]),
        ("set ftp disabled=yes\nset api disabled=yes\nset winbox disabled=yes", ["http", "ssh", "telnet"]),
    ],
)
def test_ways_to_log_in_to_a_router(lines: str, logins: list[str]):
    # RouterOS manual, "Services", from memory: ssh, telnet and www are open by default, www-ssl is not
    assert management(routeros(f"/system identity\nset name=x\n/ip service\n{lines}"), "logins") == logins


ACTIONS = (
    "/system logging action\nset 3 remote=192.0.2.1\nadd name=far remote=192.0.2.2 target=remote\n/system logging\n"
)


@pytest.mark.parametrize(
    ("rules", "servers"),
    [
        ("add action=remote topics=info", ["192.0.2.1"]),
        ("add action=far topics=info", ["192.0.2.2"]),
        ("add action=far topics=info\nadd action=remote topics=error", ["192.0.2.1", "192.0.2.2"]),
        ("add action=memory topics=info", []),
        ("set 0 topics=info,!wireless", []),
        ("add action=far disabled=yes topics=info", []),
    ],
)
def test_messages_go_where_a_rule_that_is_on_sends_them(rules: str, servers: list[str]):
    assert management(routeros(ACTIONS + rules), "syslog") == servers


@pytest.mark.parametrize(
    ("lines", "servers"),
    [
        ("/system ntp client set enabled=yes\n/system ntp client servers add address=192.0.2.1", ["192.0.2.1"]),
        ("/system ntp client servers add address=192.0.2.1", []),
        ("/system ntp client set enabled=no\n/system ntp client servers add address=192.0.2.1", []),
        (
            "/system ntp client set enabled=yes primary-ntp=192.0.2.1 secondary-ntp=192.0.2.2",
            ["192.0.2.1", "192.0.2.2"],
        ),
        ("/system ntp client set enabled=yes primary-ntp=192.0.2.1 secondary-ntp=0.0.0.0", ["192.0.2.1"]),
    ],
)
def test_time_servers_of_a_router(lines: str, servers: list[str]):
    assert management(routeros(lines), "ntp") == servers


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("config dropbear\n\toption Port '22'", "logins", ["ssh"]),
        ("config dropbear\n\toption enable '0'", "logins", []),
        ("config dropbear\n\toption enable '0'\nconfig dropbear\n\toption Port '2222'", "logins", ["ssh"]),
        ("config dropbear\n\toption Port '2222'\nconfig dropbear\n\toption enable '0'", "logins", ["ssh"]),
        ("config uhttpd 'main'\n\tlist listen_http '0.0.0.0:80'\n\tlist listen_http '[::]:80'", "logins", ["http"]),
        ("config uhttpd 'main'\n\toption listen_https '0.0.0.0:443'", "logins", ["https"]),
        ("config uhttpd 'main'\n\toption home '/www'", "logins", []),
        ("config system\n\toption log_ip '192.0.2.1'", "syslog", ["192.0.2.1"]),
        ("config system\n\toption log_ip '192.0.2.1'\n\toption log_remote '0'", "syslog", []),
        (
            "config timeserver 'ntp'\n\tlist server 'a.example'\n\tlist server 'b.example'",
            "ntp",
            ["a.example", "b.example"],
        ),
        (
            "config timeserver 'ntp'\n\toption server 'a.example b.example'\n\toption enabled '1'",
            "ntp",
            ["a.example", "b.example"],
        ),
        ("config timeserver 'ntp'\n\toption enabled '0'\n\tlist server 'a.example'", "ntp", []),
        (
            "config interface 'lan'\n\toption device 'eth0'\n\toption dns '192.0.2.2 192.0.2.1 2001:db8::1'",
            "dns",
            ["192.0.2.1", "192.0.2.2"],
        ),
    ],
)
def test_a_device_of_uci_files(text: str, field: str, value: Any):
    assert management(uci(text), field) == value


@pytest.mark.parametrize(
    ("read", "text", "hostname"),
    [
        (ios, "hostname first", "first"),
        (routeros, '/system identity\nset name="Tea \\"Room\\" 1"', 'Tea "Room" 1'),
        (uci, "config system\n\toption hostname 'ap-1'", "ap-1"),
        (uci, "config system\n\toption timezone 'UTC'", None),
    ],
)
def test_the_name_of_a_device(read: Any, text: str, hostname: str | None):
    assert state_of(read(text))["hostname"] == hostname
