"""`walesong knit`: knit in the terminal, by microphone, recording or typed words."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from app import language, resources, wording
from app.display.screen_words import ScreenWording, read_texts
from app.drawings.characters import fabric_row
from app.pieces import plan_input as read
from app.pieces.adding_up import asking_to_begin, faults
from app.pieces.casting_on import new_piece
from app.pieces.journal_files import begun_by_another_text, default_journal, is_begun
from app.pieces.pattern_cache import document_to_knit
from app.pieces.plan_doubts import swatch_question
from app.pieces.same_again import the_same_again
from app.pieces.values import NewPiece
from app.reading import text_of
from app.session.settings_file import read_choices
from app.terminal.common_options import add_common_options, complain, option_of
from app.terminal.keyboard_beside import HINT, KeyboardBeside
from app.terminal.knitting import Terminal
from app.terminal.plan_command import swatch_of
from app.terminal.screens_as_text import screen_lines
from app.wiring import composition
from app.wiring.hearing import Recording, RecordingError, listen, microphone_here, model_trouble
from engine.facts.swatches import swatch_events
from engine.journal.errors import JournalError
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable

    from app.session.assistant import Assistant
    from app.session.situation import Situation

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


_COMMENT = re.compile(r"(?:^|\s)#(?:\s.*)?$|^#.*")
"""What stands behind a sign of its own; "done #5" is no comment, or it would count one row."""
INTERRUPTED = 130
"""The exit code after an interruption from the keyboard, as every shell has it."""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "knit",
        description=(
            "Knit in the terminal. Takes up the last piece that is not finished, or casts on a new "
            "one. Without --from or --typed it listens to the microphone; without a microphone it "
            "takes typed words."
        ),
    )
    parser.add_argument("--pattern", metavar="FILE", type=Path, help="the pattern file to knit")
    parser.add_argument("--size", metavar="NAME", help="the size to knit (default: the first)")
    parser.add_argument(
        "--piece", metavar="TITLE", help="the piece to knit of several (default: the first)"
    )
    parser.add_argument(
        "--own", metavar="NAME", help="a piece without a pattern: say its rows as you knit them"
    )
    begun = parser.add_mutually_exclusive_group()
    begun.add_argument("--new", action="store_true", help="cast on anew, even if one is begun")
    begun.add_argument(
        "--change",
        action="store_true",
        help="go on with the piece that is begun, by this pattern from the row being worked",
    )
    parser.add_argument(
        "--all-the-same",
        action="store_true",
        help="knit a pattern that does not add up without being asked",
    )
    ways = parser.add_mutually_exclusive_group()
    ways.add_argument(
        "--from", dest="recording", metavar="WAV", type=Path, help="listen to a recording"
    )
    ways.add_argument(
        "--typed",
        nargs="?",
        const="-",
        metavar="FILE",
        help="take words from a file, one command a line; - or nothing is the keyboard",
    )
    add_casting_on_options(parser)
    add_common_options(parser)
    parser.add_argument("--json", action="store_true", help="print one JSON object a line")
    parser.set_defaults(run=run)


def add_casting_on_options(parser: argparse.ArgumentParser) -> None:
    """Add what can be said of a piece that is cast on now."""
    begun = parser.add_argument_group("when a piece is cast on")
    begun.add_argument(
        "--swatch", type=option_of(read.gauge), metavar="STSxROWS[/LENGTH]",
        help="your washed swatch, stitches by rows over 10 cm or the length named (20x28/4in)",
    )  # fmt: skip
    begun.add_argument(
        "--unwashed", type=option_of(read.gauge), metavar="STSxROWS[/LENGTH]",
        help="the same swatch, counted before its wash",
    )  # fmt: skip
    begun.add_argument(
        "--needle",
        type=option_of(read.needle),
        metavar="SIZE",
        help='needle of the swatch: "4.5 mm", "US 7"',
    )
    begun.add_argument("--lot", default="", help="dye lot of the first ball")
    begun.add_argument(
        "--same-as", metavar="NAME",
        help="cast on the partner of a piece, to be worked to the same rows",
    )  # fmt: skip
    begun.add_argument("--mirrored", action="store_true", help="as its mirror image (fronts)")


def run(options: argparse.Namespace) -> int:
    """Knit; see the exit codes of `walesong --help`."""
    if options.picture is not None and options.picture.is_file() and not options.replace:
        return complain(f"there is a file {options.picture} already; add --replace.", 3)
    wanted = _wanted(options)
    if isinstance(wanted, int):
        return wanted
    if wanted is not None and not _in_spite_of_faults(options, wanted):
        return 1
    if options.typed is not None:
        return _typed(options, wanted)
    return knit_by_ear(options, wanted, options.recording, fresh=options.new)


def _wanted(options: argparse.Namespace) -> NewPiece | int | None:
    """Return the piece to cast on, None for whatever is begun, or an exit code."""
    if options.mirrored and options.same_as is None:
        return complain("a mirror image is that of a piece: name it with --same-as NAME.")
    wanted: NewPiece | int | None
    if options.own is not None:
        wanted = _own(options)
    else:
        wanted = _partner(options) if options.same_as is not None else _from_pattern(options)
    if not isinstance(wanted, NewPiece):
        said = (options.swatch, options.unwashed, options.needle, options.lot)
        if wanted is None and any(said):
            return complain("a swatch or lot is told when a piece is cast on: add --pattern FILE.")
        return wanted
    swatch = swatch_of(options) if options.swatch or options.unwashed else None
    if swatch is not None and (asks := swatch_question(swatch)):
        return complain(f"{asks} If it is so, tell the swatch while knitting.")
    return replace(wanted, swatch=swatch_events(swatch, options.needle), lot=options.lot)


def _in_spite_of_faults(options: argparse.Namespace, wanted: NewPiece) -> bool:
    """Say what does not add up in what is to be begun, and ask a person whether to knit it."""
    if options.all_the_same or not faults(wanted):
        return True
    journal = options.journal or default_journal()
    if not options.new and not options.change and is_begun(journal, wanted):
        return True
    asks = wording.reply_wording().written(asking_to_begin(wanted))
    if not _is_a_person(sys.stdin):
        complain(f"{asks} If so, add --all-the-same.", 1)
        return False
    print(f"{asks} (yes or no)", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().casefold() in {"yes", "y"}


def _partner(options: argparse.Namespace) -> NewPiece | int:
    """Return the partner of a piece that is in the journal, or an exit code."""
    if options.pattern is not None or options.size is not None or options.change:
        return complain("a partner has the pattern and size of its piece: leave these out.")
    options.new = True
    try:
        return the_same_again(
            options.journal or default_journal(),
            options.same_as,
            mirrored=options.mirrored,
            pattern_piece=options.piece,
        )
    except KeyError as error:
        return complain(str(error.args[0]))
    except JournalError as error:
        return complain(str(error), 4)


def _own(options: argparse.Namespace) -> NewPiece | int:
    """Return a piece without a pattern, or an exit code."""
    if options.pattern is not None or options.size is not None or options.same_as is not None:
        return complain("a piece of your own has no pattern: leave these out.")
    name = " ".join(options.own.split())
    return NewPiece(name, name, None, None) if name else complain("name it: --own NAME.")


def _from_pattern(options: argparse.Namespace) -> NewPiece | int | None:
    if options.pattern is None:
        if options.size is not None:
            return complain("a size belongs to a pattern: name one with --pattern FILE.")
        if options.piece is not None:
            return complain("a piece belongs to a pattern: name one with --pattern FILE.")
        if options.change:
            return complain("say by which pattern to go on: --change --pattern FILE.")
        return None
    try:
        text = text_of(options.pattern)
    except OSError as error:
        return complain(f"{options.pattern} cannot be read ({error.strerror}).", 3)
    except UnicodeDecodeError:
        return complain(f"{options.pattern} is not a text file in UTF-8.", 3)
    try:
        piece = new_piece(text, options.size, options.piece)
    except KeyError as error:
        return complain(str(error.args[0]))
    if isinstance(piece, tuple):
        for problem in piece:
            place = f"{options.pattern}:{problem.line or 1}:{problem.column or 1}"
            print(f"{place}: {problem.message}", file=sys.stderr)
        return 1
    _tell_of_unread(text)
    if not options.change and not options.new:
        _tell_of_another_text(options.journal or default_journal(), piece)
    return piece


def _tell_of_unread(text: str) -> None:
    """Say how many rows nobody can count: they are given as they are written."""
    document = document_to_knit(text)
    unread = document.unread if isinstance(document, PatternDocument) else ()
    if unread:
        rows = ", ".join(problem.row or f"line {problem.line}" for problem in unread[:3])
        more = ", ..." if len(unread) > 3 else ""  # noqa: PLR2004 (so many are named)
        told = f"these rows cannot be counted and are given as they are written: {rows}{more}"
        print(f"walesong: {told}", file=sys.stderr)


def _tell_of_another_text(journal: Path, piece: NewPiece) -> None:
    """Say that a piece is begun by another text of the pattern, and how to go on with it."""
    begun = begun_by_another_text(journal, piece)
    if begun is not None:
        name, row = begun
        print(
            f"walesong: {name} is begun by another text or size, at row {row}; a new piece is cast "
            "on. To go on with that one by this text, add --change.",
            file=sys.stderr,
        )


class Latest:
    """Holds the newest situation for whoever asks: the `show` of a terminal."""

    def __init__(self, terminal: Terminal) -> None:
        """Begin without one; the terminal sees each."""
        self._terminal = terminal
        self.situation: Situation | None = None

    def __call__(self, situation: Situation) -> None:
        """Take the newest."""
        self.situation = situation
        self._terminal.seen(situation)


def _tell_left_out() -> None:
    """Say what cannot be read of her own phrases, settings and keys."""
    for trouble in (language.own_phrases()[1], read_choices()[2]):
        if trouble:
            complain(trouble)


def _typed(options: argparse.Namespace, wanted: NewPiece | None) -> int:
    lines = _lines(options.typed)
    if isinstance(lines, int):
        return lines
    _tell_left_out()
    mouth = composition.silence("typed words are answered in writing")
    terminal = _terminal(as_json=options.json)
    latest = Latest(terminal)
    helper = composition.assistant(
        options.journal or default_journal(),
        wanted,
        latest,
        mouth.voice,
        fresh=options.new,
        change=getattr(options, "change", False),
        front=composition.FrontEnd(recording=options.typed != "-"),
    )
    helper.observe(terminal.happened)
    helper.start()
    if not helper.ready():
        return complain(helper.failed, 4)
    if latest.situation is not None:
        terminal.begin(latest.situation)
    interrupted = False
    try:
        for line in lines:
            words = _COMMENT.sub("", line).strip()
            if words:
                helper.typed_and_answered(words)
            if terminal.broken is not None:
                break
    except KeyboardInterrupt:
        interrupted = True
        terminal.say("")
    code = finish(helper, terminal, latest, options.picture)
    return INTERRUPTED if interrupted else code


def _lines(typed: str) -> Iterable[str] | int:
    """Return the lines of a file, of the keyboard (-), or an exit code."""
    if typed == "-":
        if sys.stdin is None:
            return complain("no keyboard or pipe to read from; name a file of words instead.", 3)
        return sys.stdin
    try:
        return text_of(Path(typed)).splitlines()
    except OSError as error:
        return complain(f"{typed} cannot be read ({error.strerror}).", 3)
    except UnicodeDecodeError:
        return complain(f"{typed} is not a text file in UTF-8.", 3)


def knit_by_ear(
    options: argparse.Namespace, wanted: NewPiece | None, path: Path | None, *, fresh: bool
) -> int:
    """Knit from the microphone or a recording, answering by voice where there is one."""
    terminal = _terminal(as_json=options.json)
    try:
        recording = None if path is None else Recording.read(path, paced=not options.fast)
    except RecordingError as error:
        return complain(str(error), 3)
    if recording is None:
        microphone = microphone_here()
        terminal.say(f"  {microphone.line}.")
        if not microphone.there:
            terminal.say("  Type the words instead, one command a line.")
            options.typed = "-"
            return _typed(options, wanted)
    return _listening(options, wanted, terminal, recording, fresh=fresh)


def _listening(
    options: argparse.Namespace,
    wanted: NewPiece | None,
    terminal: Terminal,
    recording: Recording | None,
    *,
    fresh: bool,
) -> int:
    """Listen to a recording, or to the microphone until interrupted, and answer."""
    if trouble := model_trouble(options.model):
        return complain(trouble, 3)
    _tell_left_out()
    latest = Latest(terminal)
    ears = listen(recording, options.model)
    mouth = (
        composition.silence("Answers are only shown, as asked.")
        if options.silent or (recording is not None and options.fast)
        else composition.voice_and_tones(ears.control, hears_room=recording is None)
    )
    journal = options.journal or default_journal()
    for sentence in (ears.sentence, mouth.sentence, f"The work is kept in {journal}."):
        terminal.say(f"  {sentence}")
    change = getattr(options, "change", False)
    keyboard = sys.stdin if recording is None and _is_a_person(sys.stdin) else None
    front = composition.FrontEnd(can_hold=keyboard is not None, recording=recording is not None)
    helper = composition.assistant(
        journal, wanted, latest, mouth.voice, fresh=fresh, change=change, front=front
    )
    helper.observe(terminal.happened)
    helper.listen_with(ears.control)
    helper.start()
    if not helper.ready():
        mouth.close()
        return complain(helper.failed, 4)
    if latest.situation is not None:
        terminal.begin(latest.situation)
    ears.start(helper.heard_and_answered if recording is not None else helper.heard)
    if keyboard is not None:
        terminal.say(f"  {HINT}")
        KeyboardBeside(helper, lambda: latest.situation, keyboard).start()
    interrupted = False
    try:
        while not ears.ended(within_s=0.2) and terminal.broken is None:
            pass
    except KeyboardInterrupt:
        interrupted = True
        terminal.say("")
    ears.stop()
    mouth.close(patience_s=0.0 if interrupted else 3.0)
    code = finish(helper, terminal, latest, options.picture)
    if ears.failed:
        return complain(ears.failed, 3)
    return INTERRUPTED if interrupted else code


def _is_a_person(stream: TextIO | None) -> bool:
    """Whether somebody sits at the keyboard: a pipe would say things at the wrong time."""
    return stream is not None and stream.isatty()


def _terminal(*, as_json: bool) -> Terminal:
    help_lines = language.phrase_book().help_lines()
    replies = wording.reply_wording()
    words = ScreenWording(
        read_texts(resources.text("shared/window/words.toml")),
        replies.written,
        replies.rows.say,
        replies.showing,
    )
    return Terminal(
        replies.written,
        fabric_row,
        as_json=as_json,
        screen_lines=lambda screen, now: screen_lines(screen, now, words, help_lines),
    )


def finish(helper: Assistant, terminal: Terminal, latest: Latest, picture: Path | None) -> int:
    """
    End the work: close the journal, print the summary, draw the board if asked.

    Raises:
        OSError: what was to be printed could not be.

    """
    helper.stop()
    if latest.situation is None:
        return 0
    terminal.summary(latest.situation)
    if terminal.broken is not None:
        raise terminal.broken
    code = complain(terminal.unwritten, 4) if terminal.unwritten else 0
    if picture is not None:
        from app.window.board_picture import PictureError, draw_board  # noqa: PLC0415 (needs Kivy)

        try:
            draw_board(latest.situation, picture)
        except PictureError as error:
            return complain(str(error), 3)
        terminal.say(f"  the board is drawn in {picture}")
    return code
