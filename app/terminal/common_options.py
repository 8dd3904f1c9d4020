"""What the commands share: the options of all that knits, and complaining in one sentence."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from app.pieces.values import PlanInputError
from engine.journal.on_disk import followed

if TYPE_CHECKING:
    from collections.abc import Callable

Value = TypeVar("Value")


def add_common_options(parser: argparse.ArgumentParser) -> None:
    """Add the options to a parser."""
    parser.add_argument("--journal", metavar="FILE", type=journal_of, help="where the work is kept")
    parser.add_argument("--model", metavar="FOLDER", type=Path, help="another speech model")
    parser.add_argument(
        "--fast", action="store_true", help="play a recording as fast as it can be decoded"
    )
    parser.add_argument(
        "--picture", metavar="PNG", type=Path, help="write a picture of the board at the end"
    )
    parser.add_argument(
        "--replace", action="store_true", help="draw it in the place of a file of that name"
    )
    parser.add_argument("--silent", action="store_true", help="no voice and no tones")


def journal_of(text: str) -> Path:
    """Return the file of a journal that is named on the command line, where links to it lead."""
    return followed(Path(text))


def complain(sentence: str, code: int = 2) -> int:
    """Print one sentence on standard error and return the exit code."""
    print(f"walesong: {sentence}", file=sys.stderr)
    return code


def option_of(read: Callable[[str], Value]) -> Callable[[str], Value]:
    """Return the reader of an option: what cannot be read is told in the sentence of the reader."""

    def reading(text: str) -> Value:
        try:
            return read(text)
        except PlanInputError as error:
            raise argparse.ArgumentTypeError(str(error)) from error

    return reading
