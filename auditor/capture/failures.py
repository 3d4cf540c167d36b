"""How a capture fails: each with what happened, what to do next, and whether trying again can help."""

from __future__ import annotations

import socket

import paramiko

from auditor.errors import CaptureFailedError, TransientError

_DEEPEST = 8
"""How many causes of an error are looked at."""
_LATE = ("timed out", "timeout", "no existing session")


def late() -> TransientError:
    """Return what a device's silence means."""
    return TransientError("it did not answer in time: is it on, and is the address right?")


def login_failed(who: str, user: str, error: Exception) -> CaptureFailedError:
    """Return what a failed login at a host means. It is never tried again, so that no account is locked."""
    if "timeout" in str(error).lower():
        return CaptureFailedError(
            f"{who} did not answer the login in time: what it asks about its users may be down; it is not tried again, "
            "so that the account is not locked"
        )
    return CaptureFailedError(
        f"{who} refused the login of {user!r}: check user, password and key; it is not tried again, so that the "
        "account is not locked"
    )


def failure_of(error: BaseException) -> CaptureFailedError:
    """Return what a failed connection means."""
    chain: list[BaseException] = []
    each: BaseException | None = error
    while each is not None and len(chain) < _DEEPEST:
        chain.append(each)
        each = each.__cause__ or each.__context__
    text = " ".join(str(one) for one in chain).lower()
    if any(isinstance(one, paramiko.ssh_exception.IncompatiblePeer) for one in chain):
        return CaptureFailedError("it and this machine have no SSH algorithm in common: its software is too old")
    if "illegal info request" in text:  # SSH_MSG_USERAUTH_PASSWD_CHANGEREQ of RFC 4252, section 8
        return CaptureFailedError(
            "it wants a new password before it lets anybody in, and none was sent: log in by hand, set one, and read "
            "it again"
        )
    if "no authentication methods" in text:
        return CaptureFailedError(
            "there is nothing to log in with: neither password nor key nor agent is known for it; set AUDITOR_PASSWORD"
        )
    if any(isinstance(one, ConnectionRefusedError) for one in chain):
        return TransientError("nothing answers at its SSH port: is SSH switched on, and is the port right?")
    if any(isinstance(one, TimeoutError) for one in chain) or any(word in text for word in _LATE):
        return late()
    if any(isinstance(one, ConnectionResetError | EOFError) for one in chain) or "banner" in text:
        return TransientError("it ended the connection before the login: too many sessions at once, or not allowed in")
    if any(isinstance(one, socket.gaierror) for one in chain):
        return CaptureFailedError("its address cannot be found: check the address in the plan")
    return TransientError(f"the connection failed: {type(chain[-1]).__name__}")
