"""From captured text to an observed DeviceState: clean, cut, read, resolve; and an account of every line."""

from auditor.reading.reader import Reading, read

__all__ = ["Reading", "read"]
