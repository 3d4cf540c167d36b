"""Takes secrets out of configuration text: by the names in front of them, by their look, by what the dialect says.

What a reading took from a line as a name, and shows, stays; so does the number of lines, and what is redacted once
stays as it is when it is redacted again.
"""

from __future__ import annotations

from auditor.redact.known import KnownSecrets
from auditor.redact.marks import REDACTED
from auditor.redact.redactor import NOTHING_READ, LineRead, redact, without_written

__all__ = ["NOTHING_READ", "REDACTED", "KnownSecrets", "LineRead", "redact", "without_written"]
