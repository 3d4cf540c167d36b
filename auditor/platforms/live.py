"""How a platform is read over SSH: the keys under ``live`` in platform.yaml, and what a line that is sent may be."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict


def _line(text: str) -> str:
    if not (text.isascii() and text.isprintable()):
        raise ValueError("what is sent to a device is one line of printable ASCII")
    return text


def over_ssh(kind: str) -> str:
    """Return a device type, unless it is one that is not read over SSH.

    Raises:
        ValueError: it is.
    """
    if kind.endswith(("_telnet", "_serial")):
        raise ValueError("devices are read over SSH alone")
    return kind


PromptLine = Annotated[str, AfterValidator(_line)]
"""A line that is sent to a device."""


class Live(BaseModel):
    """How a device is read over SSH; every line here is read-only and holds for the session alone.

    Attributes:
        pager: lines that keep the pager away; a device that refuses them is read page by page.
        privilege: the command that gives the right to see the configuration, sent where a prompt does not end in ``#``
            and a secret for it is known.
        leave: lines that end the session.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    pager: list[PromptLine] = []
    privilege: PromptLine = ""
    leave: list[PromptLine] = []


def answer_file(command: str) -> str:
    """Return the file that the answer to a command is kept in."""
    return re.sub(r"[^A-Za-z0-9-]+", "_", command).strip("_") + ".txt"
