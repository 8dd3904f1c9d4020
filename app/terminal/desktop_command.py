"""`walesong desktop`: a name and an icon among the programs of a Linux desktop, only when asked."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app import resources

if TYPE_CHECKING:
    import argparse

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

_ENTRY = """\
[Desktop Entry]
Type=Application
Version=1.0
Name=Walesong
Comment=Counts rows while you knit, by voice, pedal, key or touch
Exec={program}
Icon=walesong
Terminal=false
Categories=Utility;
Keywords=knitting;rows;pattern;
"""


def entry(program: str) -> str:
    """Return the desktop entry that starts a program, which is quoted as Exec wants it."""
    return _ENTRY.format(program=program)


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "desktop",
        description=(
            "Put Walesong, with its icon, among the programs of this Linux desktop, for this user "
            "alone. Nothing else ever does that."
        ),
    )
    parser.add_argument("--remove", action="store_true", help="take both away again")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write or remove the two files and name them; 3 where that is not possible."""
    if not sys.platform.startswith("linux"):
        return _failed("only Linux desktops take such an entry.")
    program = Path(sys.executable).with_name("walesong")
    kept = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    shown = kept / "applications" / "walesong.desktop"
    icon = kept / "icons" / "hicolor" / "scalable" / "apps" / "walesong.svg"
    try:
        if options.remove:
            for path in (shown, icon):
                path.unlink(missing_ok=True)
            print(f'Removed "{shown}" and its icon.')
            return 0
        for path in (shown, icon):
            path.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(resources.path("assets/icon.svg"), icon)
        shown.write_text(entry(_quoted(str(program))), encoding="utf-8")
    except OSError as error:
        return _failed(f"{error.filename or shown}: {error.strerror}.")
    print(f'Wrote "{shown}" and its icon; "walesong desktop --remove" takes both away.')
    return 0


def _quoted(path: str) -> str:
    """Write a path as the Desktop Entry Specification wants it in Exec."""
    for sign in ("\\", '"', "`", "$"):
        path = path.replace(sign, f"\\{sign}")
    return '"' + path.replace("\\", "\\\\").replace("%", "%%") + '"'


def _failed(sentence: str) -> int:
    print(f"walesong desktop: {sentence}", file=sys.stderr)
    return 3
