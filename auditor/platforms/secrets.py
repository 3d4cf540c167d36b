"""The shape of an entry of ``secrets`` in platform.yaml about what is a secret in sections of some kind alone."""

from __future__ import annotations

from auditor.platforms.shape import Part, Patterns


class SecretsWithin(Part):
    """Texts that are secret in sections of some kind, and none elsewhere, as the names of an SNMP community.

    Attributes:
        opens: what the first line of such a section begins with, from the margin on.
        ends: what the first line behind it begins with.
        secrets: what comes before a secret (first group) and the secret itself (second group).
    """

    opens: str
    ends: str
    secrets: Patterns
