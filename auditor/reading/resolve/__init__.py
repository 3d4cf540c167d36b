"""From rows to a DeviceState: how bridges, VLAN tables, interfaces, profiles and scopes hang together.

What a device does with its settings is the same whatever its dialect calls them; nothing here knows a dialect.
"""
