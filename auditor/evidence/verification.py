"""What was found out about evidence, in sentences."""

from __future__ import annotations

from dataclasses import dataclass, field

LIMITS = (
    "This shows that plan, captures and reports belong together and that none was changed alone. It does not show who "
    "made the archive, which bears no signature, nor that the captures are what the devices held."
)


@dataclass(slots=True)
class Verification:
    """What was found out about evidence, in sentences.

    Attributes:
        about: what it is evidence of.
        proved: what holds.
        wrong: what is altered or differs; empty where everything that could be compared is as it was.
        uncompared: what could not be compared, and why.
    """

    about: str
    proved: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    uncompared: list[str] = field(default_factory=list)

    @property
    def exit_code(self) -> int:
        """The exit code of a run with this result."""
        return 1 if self.wrong else 0

    def lines(self) -> list[str]:
        """Return all of it as people read it."""
        whole = "UNALTERED All that could be compared is as it was made."
        return [
            self.about,
            "DIFFERS It is not as it was made." if self.wrong else whole,
            *(f"  {head}: {text}" for head, texts in self._lists() for text in texts),
            LIMITS,
        ]

    def _lists(self) -> list[tuple[str, list[str]]]:
        return [("wrong", self.wrong), ("holds", self.proved), ("not compared", self.uncompared)]
