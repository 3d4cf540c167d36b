"""What rows of several features have in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from auditor.reading.fields import Addresses, Flag, Netmask, OffFlag, Servers


class Row(BaseModel):
    """A record of any feature. ``inactive``: the statement is there but switched off, as if it were not."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    inactive: OffFlag = False


class Layer3Fields(Row):
    """What may stand wherever a dialect puts a layer-3 interface.

    ``shared_used``, ``relay_used``: whether the shared addresses or the relay are in use; ``dhcp_server``: whether
    DHCP is served on it.
    """

    addresses: Addresses = []
    netmask: Netmask = ""
    shared_addresses: Addresses = []
    relay_to: Servers = []
    method: str = ""
    shared_used: Flag = True
    relay_used: Flag = True
    dhcp_server: Flag = False
