"""From rows to what the areas share: how interfaces, bridges, VLAN tables and profiles hang together.

What a device does with its settings is the same whatever its dialect calls them; nothing here knows a dialect.
"""
