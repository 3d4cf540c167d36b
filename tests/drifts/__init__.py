"""Every drift of fixtures/drifts: audited once, and all that must hold of it checked there."""
