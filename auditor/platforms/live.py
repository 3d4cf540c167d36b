"""How a platform is read over SSH: the keys under ``live`` in platform.yaml, and what a line that is sent may be."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict


def _line(text: str) -> str:
    if not (text.isascii() and text.isprintable()):
        raise ValueError("what is sent to a device is one line of printable ASCII")
    return text


def _over_ssh(kind: str) -> str:
    if kind.endswith(("_telnet", "_serial")):
        raise ValueError("devices are read over SSH alone")
    return kind


PromptLine = Annotated[str, AfterValidator(_line)]
"""A line that is sent to a device."""


class Live(BaseModel):
    """How a device is read over SSH; every line here is read-only and holds for the session alone.

    Attributes:
        netmiko: netmiko's device type, where it is not the platform's name.
        pager: lines that keep the pager away; a device that refuses them is read page by page.
        privilege: the command that gives the right to see the configuration, sent where a prompt is none of
            ``privileged`` and a secret for it is known.
        any_key: patterns of what stands before the first prompt until any key is pressed, which agrees to nothing.
        leave: lines that end the session.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    netmiko: Annotated[str, AfterValidator(_over_ssh)] = ""
    pager: list[PromptLine] = []
    privilege: PromptLine = ""
    privileged: str = ".*"
    any_key: list[str] = []
    leave: list[PromptLine] = []
