"""The names of all fields that rows have, so that a type checker knows them where one is asked for by its name."""

from __future__ import annotations

from typing import Literal

FieldName = Literal[
    "inactive", "addresses", "netmask", "shared_addresses", "relay_to", "method", "shared_used", "relay_used",
    "dhcp_server", "shared_groups", "shared_on", "name", "kind", "alias", "description", "disabled", "mode",
    "access_vlan", "native_vlan", "native_tagged", "voice_vlan", "phone_vlan", "trunk_groups", "allowed_vlans",
    "native_alone", "memberships", "pvid", "off_vlans", "voice", "vlan_name", "vlan_members", "switched",
    "applies_to", "tagged_vlans", "untagged_vlan", "routed", "layer2", "layer3", "unit", "parent", "vlan_tag",
    "tag_native", "bridge", "bundle", "members", "vlan_aware", "admits", "bridged", "in_lists", "dns", "isolation",
    "relays", "label", "lets_in", "vrf", "trusted", "arp_trusted", "min_links", "zone", "services", "protocols",
    "barred", "every", "dials", "dialled", "lease_most", "vlan_ids", "index", "tagged_ports", "untagged_ports",
    "ports", "l3_interface", "cpu", "gateway", "domain", "lease", "lease_days", "lease_hours", "lease_minutes",
    "options", "ntp", "wins", "network", "interface", "group", "everywhere", "ranges", "pool_name", "first", "last",
    "start", "limit", "host", "mac", "reserved", "dns_of", "ntp_of", "own_gateway", "network_address", "relay_from",
    "snooping", "number", "egress", "prefix_length", "next_name", "address", "scope_name", "code", "value", "form",
    "uses", "interfaces", "ssid", "space", "security_profile", "datapath", "channel", "configuration", "radios",
    "master", "band", "vlan", "vlan_used", "local", "security", "security_mode", "passphrase_means", "passphrase",
    "passphrase_form", "hidden", "broadcast", "forwarding", "ssids", "hostname", "ntp_enabled", "ntp_vrf", "ntp_used",
    "syslog", "syslog_name", "syslog_action", "syslog_used", "snmp", "profile", "airs", "logins", "login_ssh",
    "login_telnet", "login_http", "login_https", "web_used", "dhcp_service", "shared_service", "relay_service",
    "snmp_used", "voice_used", "vlans_shown", "wifi_elsewhere", "routing", "only_vlan", "bundle_count", "dns_used",
    "snooped_vlans", "arp_checked_vlans", "managed_in", "http_at", "https_at", "zoned", "older_passphrase",
    "managed_radios", "answers_names", "managed", "capwap", "pvid_ports", "applied", "only_on", "upstream",
    "upstream_alone", "dial_pool", "listed_mode", "listed", "listed_on", "by_several", "ciphers", "several",
    "session", "snooped", "arp_checked", "dns_leased", "dns_from", "answers_at", "snmp_at", "names_at", "names_on",
    "names_off", "dns_replaced", "option_set", "client", "peer_dns", "in_vrf", "aggregation", "dhcp_allowed",
    "range_masks", "ntp_open", "removed_ports", "lines", "line_count", "isolated_in", "hardware",
    "not_tagged", "forbidden_ports", "tagged_in", "untagged_in", "trunk_memberships",
    "serves_time", "time_on", "login_services", "login_at", "macs",
    "relay_answers", "snmp_from", "snmp_vrf", "syslog_what", "syslog_none", "snmp_on", "snmp_parts",
    "relay_by", "tracked", "standard", "device",
    "arp", "adds_arp", "syslog_topics", "some", "refused", "ntp_keyed", "ntp_keys", "snmp_reader",
    "login_by_mac", "mac_login_at",
    "marks_requests", "lets_in_marked", "believes_marked", "checks_arp",
    "prefix", "next_hops", "out", "discards", "distance", "idle_gateway",
    "vid", "bridge_id", "names_from", "names_by", "upto", "user", "user_off",
    "user_locked", "user_key", "users_alone", "keys_alone", "users_elsewhere",
]  # fmt: skip
"""A field of some row model, or of an interface; ``test_row_models.py`` holds both together."""

Fields = frozenset[FieldName]
