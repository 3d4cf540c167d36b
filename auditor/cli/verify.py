"""``auditor verify``: whether evidence is whole, and gives its report again."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("verify")
@click.argument("file", metavar="EVIDENCE.zip", type=click.Path(path_type=Path))
def command(file: Path) -> int:
    """Check that evidence is whole and gives its report again.

    Looks for altered, missing and added files, audits the captures in it with the plan in it again, and compares what
    that gives with the reports in it. Passphrases are compared where the environment holds them. Nothing is unpacked
    to disk.

    Ends with 0 if all of it matches; with 1 if a file was altered or differs; with 3 if nothing differs and not
    everything was compared: another version made it, a report cannot be made here, or a passphrase is not set; with 2
    if the file is no evidence.
    """
    from auditor.app.verifying import verify_evidence  # noqa: PLC0415 - heavy

    found = verify_evidence(file)
    for line in found.lines():
        click.echo(line)
    return found.exit_code
