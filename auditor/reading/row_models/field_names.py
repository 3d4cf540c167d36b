"""The names of all fields that rows have, so that a type checker knows them where one is asked for by its name."""

from __future__ import annotations

from typing import Literal

FieldName = Literal[
    "inactive",
    "addresses", "netmask", "shared_addresses", "relay_to", "method", "shared_used", "relay_used", "dhcp_server",
    "name", "kind", "alias", "description", "disabled", "mode", "access_vlan", "native_vlan", "native_tagged",
    "voice_vlan", "phone_vlan", "trunk_groups", "allowed_vlans", "native_alone", "memberships", "pvid",
    "off_vlans", "voice", "vlan_name", "vlan_members", "switched", "applies_to", "tagged_vlans", "untagged_vlan",
    "routed", "layer2", "layer3", "unit", "parent", "vlan_tag", "tag_native", "bridge", "bundle", "members",
    "vlan_aware", "admits", "bridged", "dns", "isolation", "relays", "label", "lets_in", "vrf",
    "vlan_ids", "index", "tagged_ports", "untagged_ports", "ports", "l3_interface", "cpu",
    "gateway", "domain", "lease", "lease_days", "lease_hours", "lease_minutes", "options", "ntp", "wins",
    "network", "interface", "group", "everywhere", "ranges", "pool_name", "first", "last", "start", "limit",
    "host", "mac", "reserved", "dns_of", "ntp_of",
    "next_name",
    "address", "scope_name",
    "code", "value",
    "uses", "interfaces",
    "ssid", "space", "security_profile", "datapath", "channel", "configuration", "radios", "master", "band",
    "vlan", "vlan_used", "local", "security", "security_mode", "passphrase_means", "passphrase", "passphrase_form",
    "hidden", "broadcast", "forwarding",
    "ssids",
    "hostname", "ntp_enabled", "ntp_used", "syslog", "syslog_name", "syslog_action", "syslog_used", "snmp",
    "logins", "login_ssh", "login_telnet", "login_http", "login_https", "web_used", "dhcp_service",
    "shared_service", "relay_service", "snmp_used", "voice_used", "vlans_shown", "wifi_elsewhere", "routing",
    "only_vlan", "bundle_count",
    "vid", "bridge_id",
]  # fmt: skip
"""A field of some row model, or of an interface; ``test_row_models.py`` holds both together."""

Fields = frozenset[FieldName]
