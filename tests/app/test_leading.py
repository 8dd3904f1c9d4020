"""Other screens and pieces by words: numbers and names, going back, casting on after a yes."""

from __future__ import annotations

from queue import SimpleQueue
from typing import TYPE_CHECKING

import pytest

from app import language, resources, wording
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.assistant import Assistant
from app.session.clock import SetClock
from app.session.controls import read_controls
from app.session.conversation import Conversation
from app.session.keys import read_keys
from app.session.ports import Silent
from app.session.situation import Shown
from app.terminal.words_command import words_page
from app.window.desk import Hands, furnish
from engine.commands import Source
from engine.journal.memory import MemoryJournal
from engine.replies import Say
from engine.talk import BeginPiece, OtherPiece, Screen, Show, WorkOn
from speech.hearing import events as hearing

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.session.situation import Situation
    from app.session.trace import Happening
    from engine.records import Record


class Counted(MemoryJournal):
    """A journal that counts what is written into it."""

    written = 0

    def append(self, records: Sequence[Record], *, brought: bool = False) -> None:
        """Count and keep."""
        self.written += len(records)
        super().append(records, brought=brought)


class Walk:
    """An assistant in a room with three pieces: mug sleeve, bottle sleeve, crew cap."""

    def __init__(self) -> None:
        self.clock = SetClock()
        self.shown: list[Situation] = []
        self.told: list[Happening] = []
        self.voice = Silent()
        self.helper = Assistant(
            self.open, language.phrase_book(), self.shown.append, self.voice, self.clock
        )
        self.helper.observe(self.told.append)
        self.helper.start()
        assert self.helper.ready()

    def open(self) -> Conversation:
        """Cast the three on, an hour apart; the cap is on the needle."""
        self.journal = Counted()
        talks = []
        for hour, (name, size) in enumerate(
            (("mug-sleeve", None), ("bottle-sleeve", None), ("crew-cap", "M"))
        ):
            self.clock.date = f"2026-01-01T1{hour}:00:00Z"
            new = new_piece(resources.text(f"shared/patterns/{name}.toml"), size)
            assert isinstance(new, NewPiece)
            talks.append(Conversation.begin(self.journal, new, self.clock))
        self.clock.date = "2026-01-02T10:00:00Z"
        return talks[-1]

    def say(self, *sentences: str) -> Walk:
        """Type sentences; each is dealt with before the next."""
        for words in sentences:
            self.helper.typed_and_answered(words)
        return self

    @property
    def now(self) -> Situation:
        """What is shown now."""
        return self.shown[-1]

    @property
    def name(self) -> str:
        """The name of the piece on the needle."""
        return self.now.state.name

    def answers(self) -> list[Say]:
        """Return what was answered last."""
        outcome = self.told[-1].outcome
        return [one.say for one in outcome.replies] if outcome else []


@pytest.fixture
def walk() -> Iterator[Walk]:
    """Return a room with three pieces; its assistant ends with the test."""
    one = Walk()
    yield one
    one.helper.stop()


def test_pieces_are_called_by_the_order_in_which_they_were_begun(walk: Walk) -> None:
    """Number one stays the piece begun first, whatever is worked on last."""
    walk.say("work on piece one now")
    assert walk.name == "Mug sleeve"
    walk.say("row done", "work on piece two now")
    assert walk.name == "Bottle sleeve"
    numbers = {piece.name: piece.number for piece in walk.now.pieces}
    assert numbers == {"Mug sleeve": 1, "Bottle sleeve": 2, "Crew cap, M": 3}


def test_pieces_are_told_with_their_numbers(walk: Walk) -> None:
    """Who cannot look hears which pieces there are, in the order of their numbers."""
    walk.say("show my pieces")
    assert walk.now.shown.screen is Screen.PIECES
    outcome = walk.told[-1].outcome
    assert outcome is not None
    told = [one.value("title") for one in outcome.replies if one.say is Say.PIECE_IS]
    assert told == ["Mug sleeve", "Bottle sleeve", "Crew cap, M"]


def test_the_next_piece_goes_around_and_leaves_out_what_is_finished(walk: Walk) -> None:
    """From the last piece to the first; a finished piece is not gone to."""
    walk.say("work on the next piece")
    assert walk.name == "Mug sleeve"
    walk.say("this piece is finished", "yes", "work on the next piece")
    assert walk.name == "Bottle sleeve"
    walk.say("next piece", "next piece")
    assert walk.name == "Bottle sleeve"


def test_going_elsewhere_is_taken_back_by_going_back(walk: Walk) -> None:
    """The same words lead there and back; "take that back" right after going does too.

    Once a row is done on the other piece, it takes that row back and stays.
    """
    walk.say("work on piece two now", "back to the other piece")
    assert walk.name == "Crew cap, M"
    walk.say("back to the other piece")
    assert walk.name == "Bottle sleeve"
    walk.say("take that back")
    assert walk.name == "Crew cap, M"
    walk.say("work on piece one now", "row done", "take that back")
    assert (walk.name, walk.now.state.done) == ("Mug sleeve", 0)


def test_nothing_is_written_by_going(walk: Walk) -> None:
    """Looking at other pieces and screens leaves no record in the journal."""
    before = walk.journal.written
    walk.say("show the story", "back to the board", "next piece", "back to the other piece")
    walk.say("show my pieces", "start a new piece", "cast on pattern 4 now", "no")
    assert walk.journal.written == before


def test_a_piece_by_name(walk: Walk) -> None:
    """Its whole name or a part that only it has; else a sentence says what to do."""
    walk.say("work on mug")
    assert walk.name == "Mug sleeve"
    walk.say("work on sleeve")  # two have that
    assert walk.name == "Mug sleeve"
    assert walk.answers() == [Say.NO_SUCH_PIECE]
    walk.say("work on piece 9 now")
    assert walk.answers() == [Say.NO_SUCH_PIECE]


def test_the_second_of_a_pair_by_its_place(walk: Walk) -> None:
    """Which sleeve is meant goes by the pieces of one name; on that one already, she stays."""
    walk.say("work on mug", "knit the same again", "yes")
    assert walk.name == "Mug sleeve 2"
    walk.say("three rows done", "switch to the first sleeve")
    assert walk.name == "Mug sleeve"
    walk.say("switch to the second sleeve")
    assert (walk.name, walk.now.state.done) == ("Mug sleeve 2", 3)
    walk.say("switch to the second sleeve")
    assert walk.name == "Mug sleeve 2"
    walk.say("switch to the fourth one")
    assert (walk.name, walk.answers()) == ("Mug sleeve 2", [Say.NO_SUCH_PIECE])
    walk.say("switch to the third one")  # of two, the first was meant
    assert walk.name == "Mug sleeve"


def test_two_pieces_of_one_name_are_asked_about(walk: Walk) -> None:
    """A name that two pieces bear leads to neither before a yes; the number tells them apart."""
    again = new_piece(resources.text("shared/patterns/mug-sleeve.toml"), None)
    assert isinstance(again, NewPiece)
    walk.helper.cast_on(again, Source.KEY)
    walk.say("work on crew cap m", "work on mug sleeve")
    assert walk.name == "Crew cap, M"
    question = walk.now.question
    assert question is not None
    assert (question.say, question.value("count")) == (Say.ASK_PIECE_OF_NAME, 4)
    walk.say("no", "yes")
    assert walk.now.state.piece == next(p.id for p in walk.now.pieces if p.number == 1)


def test_two_numbers_that_may_have_been_said_are_asked(walk: Walk) -> None:
    """Where two pieces may be meant she is asked; a no leads to the other one."""
    span = hearing.Span(0.0, 1.0, 1.2, 0.01)
    heard = hearing.Heard((WorkOn(1), WorkOn(2)), "work on piece one now", span)
    walk.helper.heard_and_answered(heard)
    assert walk.name == "Crew cap, M"
    assert walk.answers() == [Say.ASK_PIECE]
    walk.say("no", "yes")
    assert walk.name == "Bottle sleeve"
    wild = hearing.Heard((WorkOn(13), WorkOn(3)), "work on piece thirteen now", span)
    walk.helper.heard_and_answered(wild)
    assert walk.name == "Crew cap, M"


def test_a_new_piece_is_cast_on_after_a_yes(walk: Walk) -> None:
    """Asked with its name; a no goes on to the next size, a yes casts on just that."""
    walk.say("start a new piece")
    assert walk.now.shown.screen is Screen.BEGIN
    assert Say.PATTERN_IS in walk.answers()
    walk.say("cast on pattern two now")
    assert walk.now.question is not None
    assert walk.now.question.value("title") == "Crew cap, S"
    walk.say("no", "no")
    assert walk.now.question.value("title") == "Crew cap, L"
    walk.say("yes")
    assert (walk.name, walk.now.state.cast_on) == ("Crew cap, L", 104)
    assert walk.now.shown == Shown(Screen.BOARD, walk.now.shown.turn)
    walk.say("take that back")
    assert walk.name == "Crew cap, M"


def test_a_pattern_by_name_and_size(walk: Walk) -> None:
    """Typed with its size it is asked for at once; what there is not is said."""
    walk.say("cast on crew cap, size L", "yes")
    assert walk.name == "Crew cap, L"
    walk.say("cast on grandmother's shawl")
    assert walk.answers() == [Say.NO_SUCH_PATTERN]


def test_the_same_again(walk: Walk) -> None:
    """Another piece like this one, with the next number, as its partner."""
    walk.say("work on piece one now", "row done", "knit the same again", "yes")
    assert (walk.name, walk.now.state.cast_on) == ("Mug sleeve 2", 50)
    partner = walk.now.state.partner
    assert partner is not None
    assert partner.name == "Mug sleeve"
    walk.say("knit the same again", "yes")
    assert walk.name == "Mug sleeve 3"


def test_what_is_touched_gives_the_same_without_showing_twice(walk: Walk) -> None:
    """The window opens by itself what is touched in it; words have to tell it."""
    turn = walk.now.shown.turn
    for source in (Source.TOUCH, Source.KEY, Source.PEDAL):
        walk.helper.submit(Show(Screen.STORY), source)
    walk.helper.submit(BeginPiece(), Source.TOUCH)
    walk.say("which row now")
    assert walk.now.shown.turn == turn
    walk.say("show the story")
    assert (walk.now.shown.screen, walk.now.shown.turn) == (Screen.STORY, turn + 1)


def test_alone_there_is_nowhere_to_go() -> None:
    """With one piece only, going elsewhere is answered with what to do."""
    one = Conversation.begin(MemoryJournal(), NewPiece("Only one"), SetClock())
    for wish in (OtherPiece(), WorkOn()):
        outcome = one.hear((wish,), Source.TYPED)
        assert outcome.going is None
        assert [told.say for told in outcome.replies] == [Say.NO_OTHER_PIECE]


def test_every_way_is_listed() -> None:
    """`walesong words` names the words, the keys and the touch for screens and pieces."""
    controls = read_controls(resources.text("shared/window/controls.toml"))
    keys = read_keys(resources.text("shared/keys.toml"), controls)
    page = words_page(language.phrase_book(), keys)
    for part in ("show {screen}", "work on piece {count} now", "start a new piece", "Next piece"):
        assert part in page


@pytest.mark.parametrize("screen", [one for one in Screen if one is not Screen.SETTINGS])
def test_every_screen_has_lines_for_the_terminal(screen: Screen, walk: Walk) -> None:
    """In the terminal each screen is told in lines, with what is on the needle."""
    from app.terminal.screens_as_text import screen_lines  # noqa: PLC0415

    words = furnish(Hands(), SimpleQueue(), wording=wording.reply_wording).words
    walk.say("3 rounds done", "note cable crossed wrong", "show my pieces")
    lines = screen_lines(screen, walk.now, words, ("row done: one row",))
    expected = {
        Screen.BOARD: "working 4",
        Screen.PIECES: "3 Crew cap, M: 3 rows done; on the needle now",
        Screen.BEGIN: "2 Crew cap (S, M, L)",
        Screen.PLAN: "2 Crew cap (S, M, L)",
        Screen.FINISHED: "fasten off",
        Screen.PATTERN: "4 round",
        Screen.STORY: "cable crossed wrong",
        Screen.WORDS: "row done",
        Screen.HELP: "potholder",
        Screen.TAKE: "walesong take",
        Screen.ORDER: "walesong order",
        Screen.LESSON: "1 The first stitches",
        Screen.CLASS: "2 Casting on and binding off",
        Screen.COMPOSE: "this row *k2, p2",
    }[screen]
    assert expected in "\n".join(lines)


def test_a_finished_piece_is_not_on_the_needle(walk: Walk) -> None:
    """In the list a piece that is off the needles is finished, also while it is the one shown."""
    from app.terminal.screens_as_text import screen_lines  # noqa: PLC0415

    words = furnish(Hands(), SimpleQueue(), wording=wording.reply_wording).words
    walk.say("3 rounds done", "finished", "yes", "show my pieces")
    (line,) = (
        one for one in screen_lines(Screen.PIECES, walk.now, words, ()) if "Crew cap, M" in one
    )
    assert line.endswith("Crew cap, M: finished, 3 rows")


def test_the_journal_is_shown_before_the_pattern_is_read(walk: Walk) -> None:
    """The first situation shows what the journal knows; the next one has the pattern, too."""
    first, second = walk.shown[:2]
    assert first.opening
    assert not second.opening
    assert (first.state.name, first.state.done) == ("Crew cap, M", 0)
    assert second.course.cast_on == 96
