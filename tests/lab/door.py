"""Who is let in at a scripted device; apart from the shells, since asyncssh is heavy and many tests never start one."""

from __future__ import annotations

import asyncio

import asyncssh

from tests.lab.shells import USER, Shell


class Door(asyncssh.SSHServer):
    """Lets the technician in by password, unless the shell has other plans."""

    def __init__(self, shell: Shell, connections: list[asyncssh.SSHServerConnection]) -> None:
        self.shell = shell
        self.connections = connections

    def connection_made(self, conn: asyncssh.SSHServerConnection) -> None:
        self.connections.append(conn)
        self.shell.connections += 1
        if self.shell.busy > 0:
            self.shell.busy -= 1
            conn.abort()

    def begin_auth(self, username: str) -> bool:
        return True

    def password_auth_supported(self) -> bool:
        return True

    async def validate_password(self, username: str, password: str) -> bool:
        await asyncio.sleep(self.shell.login_delay)
        if self.shell.expired:
            raise asyncssh.PasswordChangeRequired("Your password has expired. New password: ", "en")
        right = username.partition("+")[0] == USER and password == self.shell.password
        self.shell.logins += right
        self.shell.refused += not right
        return right
