"""Proof that a small network runs as it was planned: plan, device configurations, one honest report."""

__version__ = "0.1.0"
