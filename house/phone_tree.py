"""What goes into a phone's package, laid out as it will lie there (``build/phone``).

``python -m house.phone_tree [--library FILE]``; the library of the recogniser for the phone's
processor is put beside (``build/phone-libraries``), for its own place in the package.
"""

from __future__ import annotations

import argparse
import shutil
import sys
from pathlib import Path
from typing import Final

from house.trouble import Trouble

ROOT: Final = Path(__file__).resolve().parent.parent
TREE: Final = ROOT / "build" / "phone"
LIBRARIES: Final = ROOT / "build" / "phone-libraries"

FOLDERS: Final = ("app", "engine", "speech", "shared", "assets")
LEFT_OUT: Final = ("__pycache__", "pictures")
"""``assets/pictures`` are the README's."""


def lay_out(tree: Path, model: Path) -> None:
    """Make the tree anew from this checkout and the speech model; Trouble if that is not there."""
    if not model.is_dir():
        raise Trouble(f"There is no speech model in {model}: run `make setup` first.")
    if tree.exists():
        shutil.rmtree(tree)
    for name in FOLDERS:
        shutil.copytree(ROOT / name, tree / name, ignore=shutil.ignore_patterns(*LEFT_OUT))
    shutil.copy2(ROOT / "main.py", tree)
    shutil.copy2(ROOT / "LICENSE", tree)
    shutil.copytree(model, tree / model.name)


def main(arguments: list[str] | None = None) -> int:
    """Lay it out, and say where."""
    from app import resources  # noqa: PLC0415 - only the environment has what it imports

    parser = argparse.ArgumentParser(prog="make phone-tree", description=__doc__)
    parser.add_argument("--library", type=Path, help="libvosk.so for the phone's processor")
    options = parser.parse_args(arguments)
    try:
        lay_out(TREE, resources.cache_folder() / resources.MODEL_NAME)
        if options.library is not None:
            LIBRARIES.mkdir(parents=True, exist_ok=True)
            shutil.copy2(options.library, LIBRARIES / "libvosk.so")
    except (Trouble, OSError) as trouble:
        print(trouble, file=sys.stderr)
        return 1
    megabytes = sum(file.stat().st_size for file in TREE.rglob("*") if file.is_file()) / 1e6
    print(f"{TREE.relative_to(ROOT)} holds what goes into the package: {megabytes:.0f} MB.")
    if options.library is None and not (LIBRARIES / "libvosk.so").is_file():
        print("The recogniser's library is still missing: add --library FILE.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
