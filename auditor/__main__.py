"""``python -m auditor`` is the command ``auditor``."""

from auditor.cli import main

main()
