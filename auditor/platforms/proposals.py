"""What ``correction`` in platform.yaml says: what proposals to restore the plan need beside their pieces."""

from __future__ import annotations

from auditor.platforms.shape import Part, SettingPlace


class Removal(Part):
    """A command that takes a whole section away. The other texts are made of its groups, of which {0} is the first.

    Attributes:
        command: what it looks like, searched for in all commands of a proposal, one a line.
        section: the first line of the section that it takes.
        line: what the section must hold, too, where first lines are alike.
        called: by what name other sections refer to that one; empty where none does.
    """

    command: str
    section: str
    line: str = ""
    called: str = ""


class CorrectionRules(Part):
    """What the proposals that ``corrections.yaml`` writes need beside it.

    Attributes:
        safety_net: how the dialect takes a change back by itself where it is not confirmed, as a sentence.
        lasts: what makes a change outlast a restart, as a sentence.
        together: groups of settings of one item that one statement sets at once, beside those that are so everywhere.
        routing: the command that switches routing on for the whole device, and the one that switches it off.
        routing_caution: what to mind then, by what a first line of the capture looks like that makes it matter.
        candidate: nothing that is entered is in force before all of it is, at once.
        in_one_step: settings of which one command puts the new value into the place of the old one; where that is not
            said, and there is no candidate, the old one goes in a command of its own.
        removes_by_address: an address is taken from an interface by the address alone, whatever its mask.
        removals: the commands that take whole sections away.
    """

    safety_net: str = ""
    lasts: str = ""
    together: list[list[SettingPlace]] = []
    routing: tuple[str, str] | None = None
    routing_caution: dict[str, str] = {}
    candidate: bool = False
    in_one_step: list[SettingPlace] = []
    removes_by_address: bool = False
    removals: list[Removal] = []

    def fields_together(self, area: str) -> list[list[str]]:
        """Return the groups of fields of one area that one statement sets at once."""
        return [[place.field for place in group if place.area == area] for group in self.together]
