"""`walesong hands`: print what the hands do, move by move, as a handout for a class."""

from __future__ import annotations

import sys
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from app.lessons.topics import Topic
from app.session.settings import YarnHand
from app.terminal.write_command import FORMS, as_bytes
from app.writing import write_whole

if TYPE_CHECKING:
    import argparse

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "hands",
        description=(
            "Write drawings of hands, needles and yarn, one for every move, with a sentence under "
            "each. Without a TOPIC all of them are written: " + ", ".join(Topic) + "."
        ),
    )
    parser.add_argument("topics", metavar="TOPIC", nargs="*", help="left out: all of them")
    parser.add_argument(
        "--to", metavar="OUT", type=Path, required=True, help="the file to write: .html, .md, .pdf"
    )
    parser.add_argument(
        "--replace", action="store_true", help="write it in the place of a file of that name"
    )
    parser.add_argument(
        "--yarn",
        choices=tuple(YarnHand),
        default=YarnHand.RIGHT,
        help="led by the hand with the free needle (right) or by the other one (left)",
    )
    parser.add_argument("--left-handed", action="store_true", help="mirror the drawings")
    parser.add_argument(
        "--large-print", action="store_true", help="17 point type (for .html and .pdf)"
    )
    parser.add_argument(
        "--paper", choices=("a4", "letter"), default="a4", help="for .pdf (default: a4)"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write the handout: 0 written, 2 an option is wrong, 3 a file or a library."""
    form = FORMS.get(options.to.suffix.casefold())
    if form is None:
        return _complain("the file has to end in .html, .md or .pdf.", 2)
    unknown = [name for name in options.topics if name not in set(Topic)]
    if unknown:
        return _complain(f"there is no topic '{unknown[0]}'; there are {', '.join(Topic)}.", 2)
    if form == "pdf" and find_spec("reportlab") is None:
        return _complain("a PDF needs the library ReportLab: pip install reportlab.", 3)
    if not options.to.absolute().parent.is_dir():
        return _complain(f"there is no folder {options.to.parent}.", 3)
    if options.to.is_file() and not options.replace:
        return _complain(f"there is a file {options.to} already; add --replace to replace it.", 3)
    # Here, because checking the options first keeps their answers quick.
    from app.printing.hands_handout import handout  # noqa: PLC0415

    topics = [Topic(name) for name in dict.fromkeys(options.topics)] or list(Topic)
    sheet = handout(topics, YarnHand(options.yarn), left_handed=options.left_handed)
    content = as_bytes(sheet, form, options)
    if content is None:
        return _complain("that does not fit on its page; nothing was written.", 3)
    try:
        write_whole(options.to, content)
    except OSError as error:
        return _complain(f"{options.to} cannot be written: {error.strerror}.", 3)
    print(f"Wrote {options.to}.")
    return 0


def _complain(sentence: str, code: int) -> int:
    print(f"walesong hands: {sentence}", file=sys.stderr)
    return code
