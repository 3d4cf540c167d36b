"""The command line: one module a command, and the one border where errors become messages and exit codes.

Commands read options, call one library function and hand the result to a report. Each is imported when it is used.
"""

from __future__ import annotations

import importlib
import sys
from typing import TYPE_CHECKING, Any

import click

from auditor import __version__
from auditor.cli.streams import outlets
from auditor.errors import AuditorError, UnforeseenError

if TYPE_CHECKING:
    from auditor.cli.log import Run

_INTERRUPTED = 130
"""The exit code of a run that a person stopped: 128 and the number of SIGINT, as shells have it (common practice)."""
_RENAMED = {"expect": "expected"}
"""Commands by a name that they had before: it still works, and a remark gives the new one. No help shows it."""
COMMANDS = {
    "audit": "Compare what runs on the devices with the plan.",
    "capture": "Read the devices over SSH and save their configurations.",
    "demo": "Audit a made-up site: the first command to try.",
    "expected": "Write each device's expected settings, native and normalized.",
    "history": "Show earlier audits of a site, and what came and went.",
    "manual": "Show the manual, page by page.",
    "overview": "Write all sites on one page: the most urgent first, and which are overdue.",
    "platforms": "Show what can be read, and what each platform cannot show.",
    "read": "Show what is understood of a device's capture, and what is not.",
    "review": "Check the plan on paper.",
    "verify": "Check that the evidence of an audit is whole and gives its report again.",
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

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that is asked for; by a name that it had before, with a remark."""
        if args[0] in _RENAMED:
            new = _RENAMED[args[0]]
            click.echo(f"auditor: 'auditor {args[0]}' is now 'auditor {new}': use the new name", err=True)
            args = [new, *args[1:]]
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command. What is unforeseen becomes an error of ours here: click would make 1 or 130 of some of it.

        Raises:
            UnforeseenError: something went wrong that is no error of ours.
        """
        try:
            ended = super().invoke(ctx)
        except AuditorError as error:
            _log_error(error, ctx.obj)
            raise
        except (click.ClickException, click.Abort, click.exceptions.Exit, KeyboardInterrupt):
            raise
        except BaseException as error:  # what libraries in other languages panic with is no Exception
            from auditor.unforeseen import unforeseen_of  # noqa: PLC0415 - needed for unforeseen errors alone

            raise UnforeseenError(f"{ctx.invoked_subcommand} was not completed: {unforeseen_of(error).text}") from error
        ctx.obj.ended = ended
        return ended

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
@click.option("--debug", is_flag=True, help="Show tracebacks on standard error, without what exceptions say.")
@click.pass_context
def cli(ctx: click.Context, debug: bool) -> None:
    """Prove that small networks run as they were planned. Nothing is ever written to a device."""
    from auditor.cli.log import logged  # noqa: PLC0415 - nobody needs it for --help

    ctx.obj = ctx.with_resource(logged(ctx.invoked_subcommand or "", debug=debug))


def _log_error(error: AuditorError, run: Run | None) -> None:
    """Log where an error came from, for --debug, and that the run ended with it."""
    from auditor.unforeseen import LOG, frames_of  # noqa: PLC0415

    LOG.debug("%s", "\n".join(frames_of(error)))
    if run:
        run.ended = type(error).__name__


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
