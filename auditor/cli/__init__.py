"""The command line: one module a command, and the one border where errors become messages and exit codes.

Commands read options, call one library function and hand the result to a report. Each is imported when it is used.
"""

from __future__ import annotations

import importlib
import sys
from typing import Any

import click

from auditor import __version__
from auditor.cli.streams import outlets
from auditor.errors import AuditorError, UnforeseenError

_INTERRUPTED = 130
"""The exit code of a run that a person stopped: 128 and the number of SIGINT, as shells have it (common practice)."""
COMMANDS = {
    "audit": "Is what runs on the devices what was planned?",
    "capture": "Read the devices over SSH, save what they say.",
    "demo": "Audit a whole made-up site: what a newcomer runs first.",
    "expect": "Write each device's expected settings, native and normalized.",
    "history": "What came and went at a site since earlier audits?",
    "manual": "Show the manual, page by page.",
    "overview": "Write all sites on one page: who needs somebody first, who is overdue.",
    "platforms": "Show what can be read, and what each platform cannot show.",
    "read": "Show what is understood of one device's capture, and what is not.",
    "review": "Is the plan sound?",
    "verify": "Is the evidence of an audit as it was made?",
}


class _Commands(click.Group):
    """Commands that are imported when they are used, so that ``--help`` is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"auditor.cli.{cmd_name}").command
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command. What nobody foresaw becomes an error of ours here: click would make 1 or 130 of some of it.

        Raises:
            UnforeseenError: something went wrong that is no error of ours.
        """
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.Abort, click.exceptions.Exit, AuditorError, KeyboardInterrupt):
            raise
        except BaseException as error:  # what libraries in other languages panic with is no Exception
            from auditor.unforeseen import unforeseen_of  # noqa: PLC0415 - nobody needs it who foresees everything

            raise UnforeseenError(f"{ctx.invoked_subcommand} was not completed: {unforeseen_of(error).text}") from error

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Exit codes: 0 conforming and complete, 1 findings, 3 incomplete, 2 plan, template or usage wrong, a site "
    "not audited, or results not written. The worst wins: 2, then 3, then 1.",
)
@click.version_option(__version__, prog_name="auditor", message="%(prog)s %(version)s")
def cli() -> None:
    """Prove that small networks run as they were planned. Nothing is ever written to a device."""


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and exit."""
    with outlets() as (out, _):
        code = _run(arguments)
        out.flush()
        if out.failure:
            click.echo(f"auditor: the results could not be written to standard output: {out.failure}", err=True)
            code = code if code == _INTERRUPTED else AuditorError.exit_code
    sys.exit(code)


def _run(arguments: list[str] | None) -> int:
    try:
        code = cli.main(arguments, prog_name="auditor", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        return AuditorError.exit_code
    except click.Abort:
        return _INTERRUPTED
    except AuditorError as error:
        click.echo(f"auditor: {error}", err=True)
        return error.exit_code
    return code if isinstance(code, int) else 0
