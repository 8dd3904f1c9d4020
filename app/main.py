"""Where the program begins."""

from __future__ import annotations

import sys


def run() -> None:
    """Run the `walesong` command and leave with its exit code."""
    from app.command_line import main  # noqa: PLC0415 (the phone build starts without it)

    sys.exit(main())
