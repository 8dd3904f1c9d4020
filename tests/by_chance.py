"""Files and histories with slips put in by chance, and what is done with them.

Used by the small seed set in the ordinary tests and by `make fuzz`, which runs for minutes.
"""

from __future__ import annotations

import struct
from dataclasses import fields
from datetime import UTC, datetime
from enum import EnumType
from fractions import Fraction
from functools import cache
from io import BytesIO
from pathlib import Path
from types import NoneType
from typing import TYPE_CHECKING, Any, get_args, get_type_hints

from app import language, resources, wording
from app.display.board_view import board_view
from app.display.screen_words import ScreenWording, read_texts
from app.pieces.casting_on import new_piece
from app.pieces.pattern_cache import row_reader
from app.printing.as_html import as_html
from app.printing.compose import compose
from app.printing.data import print_data
from app.session.clock import SetClock
from app.session.controls import read_controls
from app.session.conversation import Conversation
from app.session.kept_drafts import read_unfinished
from app.session.keys import KeysError, read_keys, with_own_keys
from app.session.settings import read_settings
from app.session.situation import Situation
from engine.commands import Source
from engine.events import EVENTS, Undone
from engine.journal.memory import MemoryJournal
from engine.limits import (
    MOST_DENOMINATOR,
    STEPS_OF_ANSWER,
    STEPS_OF_PRINT,
    Allowance,
    TooMuchWorkError,
)
from engine.pattern import PatternDocument, PatternError, read_pattern
from engine.quantities import Length, LengthUnit, Mass, MassUnit
from engine.records import Record, heads, new_name
from engine.soundness import (
    LONGEST_NAME,
    MOST_LAMPORT,
    MOST_LENGTH,
    MOST_MASS,
    MOST_MS,
    MOST_NUMBER,
)
from speech.hearing.sound import SoundError, streamed_for_the_model
from speech.words.phrases import PhraseError, with_own_phrases
from speech.words.understand import understand

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from random import Random

    from app.display.screen_words import ScreenWording as WindowWording
    from app.session.controls import Controls
    from app.session.keys import KeyMap

TESTS = Path(__file__).parent
ODD_NUMBERS = (
    "0", "1", "-1", "2", "13", "999", "4294967296", "1000000000", "9" * 30, "0.5", "1/2", "3 (4)",
    "2 (3, 4)", "10 (12, 14, 16)", "²", "½",
)  # fmt: skip
ODD_WORDS = (
    "knit", "purl", "k2tog", "yo", "pm", "sm", "turn", "rep from *", "*", "to end", "(", ")", "[",
    "]", "{", "}", '"', '"""', "'", "=", "\n", "\\", "\x00", "é", "\ue000", "until", "times",
    "every", "row", "cm", "marker", "as given for", "twice", "evenly", "sts", "ending with", ";",
)  # fmt: skip
ODD_TEXTS = (
    "", "body", "P", " ", "\n", "\r\n", "\t", "\0", "\x1b[31m", "\u202e", "\ufeff", "e\u0301", "🧶",
    "%s", "{row}", "<b>", "&amp;", "[b]", "|", "`", "..", "null", "rnd", "x" * 300,
)  # fmt: skip
ODD_WALLS = (
    "", "garbage", "2026-13-45", "2026-01-10T18:00:00+99:99", "0000-00-00T00:00:00Z",
    "9999-12-31T23:59:59Z", "\0", "2" * 40,
)  # fmt: skip
ASKED = (
    "row done", "how far left", "which row now", "what comes next", "how much yarn left",
    "how long will it take", "measure eleven centimetres", "i count twenty stitches", "row done",
    "take that back", "ripped back one row", "what can i say now", "how am i doing", "yes",
    "put that back", "weighed forty grams", "show the story", "show my pieces",
    "same as the partner", "how long", "ripped back two hundred rows", "really on row nine",
    "place a marker", "measure a thousand metres", "no", "finished",
)  # fmt: skip


# --- slips ---------------------------------------------------------------------------------------


def slipped(text: str, others: Sequence[str], dice: Random) -> str:
    """Return a text with one to six slips in it."""
    for _ in range(dice.randint(1, 6)):
        at, end = sorted(dice.randrange(len(text) + 1) for _ in range(2))
        match dice.randrange(8):
            case 0:
                text = text[:at] + text[min(end, at + 40) :]
            case 1:
                text = text[:at] + dice.choice(ODD_WORDS) + text[at:]
            case 2:
                text = _another_number(text, dice)
            case 3:
                lines = text.split("\n")
                one = dice.randrange(len(lines))
                lines[one:one] = [lines[dice.randrange(len(lines))]] * dice.choice((1, 1, 2, 60))
                text = "\n".join(lines)
            case 4:
                lines = text.split("\n")
                del lines[dice.randrange(len(lines))]
                text = "\n".join(lines)
            case 5:
                lines, more = text.split("\n"), dice.choice(others).split("\n")
                one, other = dice.randrange(len(lines)), dice.randrange(len(more))
                lines[one:one] = more[other : other + dice.randint(1, 4)]
                text = "\n".join(lines)
            case 6:
                text = text[:at] + text[at:end][:30] * dice.choice((2, 3, 40)) + text[end:]
            case _:
                text = text[:at] + chr(dice.choice((32, 34, 40, 44, 58, 955, 128512))) + text[at:]
    return text


def _another_number(text: str, dice: Random) -> str:
    places = [at for at, sign in enumerate(text) if sign.isdigit()]
    if not places:
        return text
    at = dice.choice(places)
    end = at
    while end < len(text) and text[end].isdigit():
        end += 1
    return text[:at] + dice.choice(ODD_NUMBERS) + text[end:]


def slipped_bytes(data: bytes, dice: Random) -> bytes:
    """Return bytes of which some are others, missing or there twice."""
    changed = bytearray(data)
    for _ in range(dice.randint(1, 8)):
        at = dice.randrange(min(len(changed), 120) if dice.random() < 0.8 else len(changed))
        match dice.randrange(3):
            case 0:
                changed[at] = dice.choice((0, 1, 3, 127, 128, 255, dice.randrange(256)))
            case 1:
                del changed[at : at + dice.randint(1, 9)]
            case _:
                changed[at:at] = changed[at : at + dice.randint(1, 9)]
        if not changed:
            return b""
    return bytes(changed)


@cache
def patterns() -> tuple[str, ...]:
    """Return the patterns that slips are put into: ours, and those of the tests."""
    files = [*resources.files("shared/patterns", "*.toml"), *(TESTS / "hostile").glob("*.toml")]
    files += sorted((TESTS / "outside" / "modern").glob("*.toml"))
    return tuple(file.read_text(encoding="utf-8") for file in files)


# --- what is done with them ----------------------------------------------------------------------


def check_pattern(dice: Random) -> None:
    """Read and count a pattern, and walk a little in its course."""
    text = slipped(dice.choice(patterns()), patterns(), dice)
    document = read_pattern(text, row_reader(), in_spite=True)
    if not isinstance(document, PatternDocument):
        return
    for verdict in document.check():
        assert all(problem.message and str(problem) for problem in verdict.problems)
    try:
        with Allowance(STEPS_OF_ANSWER).used():
            course = document.course(dice.choice(document.sizes or (None,)))
            ended = {loop.id: dice.choice((0, 3, 40, 900)) for loop in course.loops}
            for row in (1, dice.randint(1, 60), dice.choice((10**4, 10**9))):
                assert course.where(ended, row).row == row
                course.next_change(ended, row)
                course.last_row(ended)
    except (PatternError, TooMuchWorkError):
        return


def print_pattern(dice: Random) -> None:
    """Print a pattern that may not add up."""
    text = slipped(dice.choice(patterns()), patterns(), dice)
    document = read_pattern(text, row_reader())
    if not isinstance(document, PatternDocument):
        return
    try:
        with Allowance(STEPS_OF_PRINT).used():
            as_html(compose(document, print_data()).sheet, "")
    except (PatternError, TooMuchWorkError):
        return


@cache
def _words() -> WindowWording:
    replies = wording.reply_wording()
    texts = read_texts(resources.text("shared/window/words.toml"))
    return ScreenWording(texts, replies.written, replies.rows.say, replies.showing)


@cache
def _controls() -> Controls:
    return read_controls(resources.text("shared/window/controls.toml"))


@cache
def _keys() -> KeyMap:
    return read_keys(resources.text("shared/keys.toml"), _controls())


def _ask(talk: Conversation, dice: Random, times: int) -> None:
    """Ask and tell things, and draw the board after each."""
    talk.greet()
    for _ in range(times):
        meant = understand(dice.choice(ASKED), language.phrase_book())
        if meant:
            outcome = talk.hear(meant, Source.TYPED)
            for one in outcome.replies:
                assert isinstance(wording.reply_wording().written(one), str)
        with Allowance(STEPS_OF_ANSWER).used():
            board_view(Situation(talk.state, talk.course), _words(), _controls())


def knit_and_change(dice: Random) -> None:
    """Knit a pattern, and go on by another one."""
    first = new_piece(dice.choice(patterns()[:4]), None)
    assert not isinstance(first, tuple)
    talk = Conversation.begin(MemoryJournal(), first, SetClock())
    _ask(talk, dice, 3)
    text = slipped(dice.choice(patterns()), patterns(), dice)
    changed = new_piece(text, None)
    if isinstance(changed, tuple):
        return
    talk.change_pattern(text, None)
    try:
        _ask(talk, dice, 3)
    except TooMuchWorkError:
        return


def read_own_files(dice: Random) -> None:
    """Read phrases, keys, settings and unfinished lines."""
    ours = ("shared/phrases/en.toml", "shared/keys.toml")
    texts = [*(resources.text(one) for one in ours), 'palette = "dark"\nrate = 150\n']
    texts += ['{"typed": {"a": "b"}, "begun": {"pattern": null}}', '[commands.undo]\nsay = ["a b"]']
    text = slipped(dice.choice(texts), texts, dice)
    for reads in (
        lambda: with_own_phrases(language.shipped_phrases(), text),
        lambda: with_own_keys(_keys(), text, _controls()),
    ):
        try:
            reads()
        except (PhraseError, KeysError):
            continue
    read_settings(text)
    read_unfinished(text)


def read_sound(dice: Random) -> None:
    """Read a sound file."""
    code, bits = dice.choice(((1, 8), (1, 16), (1, 24), (1, 32), (3, 32), (3, 64)))
    rate, channels = dice.choice((8000, 16000, 44100, 48000)), dice.choice((1, 2))
    width = channels * bits // 8
    body = dice.randbytes(width * 300)
    head = struct.pack("<HHIIHH", code, channels, rate, rate * width, width, bits)
    size = struct.pack("<I", len(body))
    data = b"RIFF" + size + b"WAVEfmt \x10\0\0\0" + head + b"data" + size + body
    try:
        for piece in streamed_for_the_model(BytesIO(slipped_bytes(data, dice))):
            assert abs(piece).max() < 4
    except SoundError:
        return


# --- histories -----------------------------------------------------------------------------------


def _value(kind: Any, dice: Random) -> Any:
    kinds = [one for one in get_args(kind) or (kind,) if one is not NoneType]
    if len(kinds) < len(get_args(kind) or (kind,)) and dice.random() < 0.2:
        return None
    one = dice.choice(kinds)
    if one is Length:
        unit = dice.choice(list(LengthUnit))
        return Length(_number(MOST_LENGTH[unit], dice), unit)
    if one is Mass:
        scale = dice.choice(list(MassUnit))
        return Mass(dice.choice((Fraction(0), _number(MOST_MASS[scale], dice))), scale)
    if one is Fraction:
        return _number(Fraction(MOST_NUMBER), dice)
    if one is bool:
        return dice.random() < 0.5
    if one is int:
        return dice.choice((0, 1, 2, 12, 44, 100, 5000, MOST_NUMBER - 1, MOST_NUMBER))
    if one is str:
        return dice.choice((*ODD_TEXTS, "P" * LONGEST_NAME))
    if isinstance(one, EnumType):
        return dice.choice(list(one))
    raise TypeError(f"No values are known for {one}.")


def _number(most: Fraction, dice: Random) -> Fraction:
    """Return a number up to the most that a record may hold, often one of the ends."""
    fine = Fraction(1, dice.choice((MOST_DENOMINATOR, MOST_DENOMINATOR - 1)))
    usual = tuple(map(Fraction, ("1", "50", "1/8", "11", "4000", "0.35", "22/7", "999998/999999")))
    return min(
        dice.choice((*usual, fine, most, most - fine if most.denominator == 1 else most, most / 2)),
        most,
    )


def a_history(dice: Random) -> list[Record]:
    """Return the records of one piece, of any kinds and with any content that a record may hold."""
    piece = new_name()
    written: list[Record] = []
    groups = [new_name() for _ in range(12)]
    count = dice.choice((14, 14, 14, 40))
    kinds = [EVENTS["piece_begun"], *(dice.choice(list(EVENTS.values())) for _ in range(count))]
    for event_class in kinds:
        hints = get_type_hints(event_class)
        try:
            content = {field.name: _value(hints[field.name], dice) for field in fields(event_class)}
            if event_class is Undone and dice.random() < 0.8:
                content["group"] = dice.choice(groups)
            event = event_class(**content)
        except (ValueError, TypeError):
            continue
        seen = written[: dice.randint(len(written) // 2, len(written))]
        moment = datetime.fromtimestamp(dice.randrange(2**31), UTC)
        far = dice.choice((0, 0, 0, 0, 7, MOST_LAMPORT // 20))
        written.append(
            Record(
                after=heads(seen) if dice.random() < 0.9 else ("0" * 64,),
                lamport=max((one.lamport for one in seen), default=0) + 1 + far,
                writer=dice.choice(("a" * 32, "b" * 32, *ODD_TEXTS)),
                piece=piece,
                group=dice.choice(groups),
                wall=dice.choice((f"{moment:%Y-%m-%dT%H:%M:%SZ}",) * 8 + ODD_WALLS),
                monotonic_ms=dice.choice((0, 1, 10**6, 10**9, MOST_MS - 1, MOST_MS)),
                source=dice.choice(list(Source)),
                event=event,
            )
        )
    return written


def talk_about_a_history(dice: Random) -> None:
    """Take up a piece whose records were made by dice, and ask about it."""
    records = a_history(dice)
    if not records:
        return
    journal = MemoryJournal()
    journal.append(records)
    try:
        _ask(Conversation(journal, records[0].piece, SetClock()), dice, 5)
    except TooMuchWorkError:
        return


TARGETS: dict[str, Callable[[Random], None]] = {
    "patterns checked": check_pattern,
    "patterns printed": print_pattern,
    "knitted and changed": knit_and_change,
    "her own files": read_own_files,
    "sound files": read_sound,
    "histories": talk_about_a_history,
}
"""What is tried, by name; each takes its dice and raises only where something is wrong."""
