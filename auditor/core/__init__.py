"""What the whole house speaks of: single values, the state of a device, the report. Knows no dialect and no file."""
