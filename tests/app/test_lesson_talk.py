"""A lesson led by whatever she says: its short words, those that mean the same, and what is not."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from app.language import phrase_book
from app.lessons.topics import Topic
from engine.commands import (
    CountStitches,
    Lost,
    Measure,
    NextBit,
    RowsDone,
    Source,
    StepBack,
    Undo,
)
from engine.quantities import Length, LengthUnit
from engine.replies import Say
from engine.talk import (
    BeginLesson,
    Help,
    InLesson,
    LessonWord,
    Nth,
    SayAgain,
    Screen,
    Show,
    StopListening,
    Yes,
)
from speech.words.understand import understand_heard
from tests.app.test_attention import Room

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from app.lessons.leading import Leading
    from app.session.situation import Situation

READY = InLesson(LessonWord.READY)
COUNTING = 8
"""How many steps of the first lesson come before the first that asks for a count."""


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    """Return an assistant with a scripted hearing, in the first lesson."""
    found = Room(tmp_path / "journal.sqlite")
    found.says("i have never knitted", BeginLesson())
    yield found
    found.assistant.stop()


def leading(now: Situation) -> Leading:
    """Return where the learner is."""
    assert now.lesson is not None
    return now.lesson.leading


def to_the_count(room: Room) -> None:
    """Go on to the first step that asks for a count."""
    for _ in range(COUNTING):
        room.says("ready", READY)
    assert leading(room.now).step.count == 16


def test_it_begins_from_nothing(room: Room) -> None:
    """The page is shown, title, needs and first step are said, and nothing is counted."""
    assert room.now.shown.screen is Screen.LESSON
    said = [one.value("words") for one in room.now.replies]
    assert said[0] == "The first stitches."
    assert said[2] == leading(room.now).step.say
    assert room.now.state.done == 0


@pytest.mark.parametrize("said", [READY, Yes(), NextBit(), RowsDone()])
def test_ready_is_said_in_many_ways(room: Room, said: RowsDone) -> None:
    """The pedal's "row done" among them: it is the next step, and no row."""
    now = room.says("…", said)
    assert leading(now).at == 1
    assert now.state.done == 0


@pytest.mark.parametrize("said", [StepBack(), Undo()])
def test_back_is_the_step_before(room: Room, said: Undo) -> None:
    """The pedal that takes back a row does the same."""
    room.says("ready", READY)
    assert leading(room.says("…", said)).at == 0  # type: ignore[arg-type]


def test_again_says_and_draws_it_once_more(room: Room) -> None:
    """The same step is said again."""
    before = room.says("ready", READY)
    now = room.says("again", SayAgain())
    assert now.replies == before.replies
    assert leading(now).turn == leading(before).turn + 1


def test_slower_and_faster_change_the_hands(room: Room) -> None:
    """Half as fast, a quarter, and no slower than that; faster comes back."""
    speeds = [
        leading(room.says("…", InLesson(word))).speed
        for word in (*[LessonWord.SLOWER] * 3, LessonWord.QUICKER)
    ]
    assert speeds == [0.5, 0.25, 0.25, 0.5]


def test_what_is_drawn_is_seen_from_behind_until_the_next(room: Room) -> None:
    """Said twice it is the front again; another step begins from the front; bare words say so."""
    assert leading(room.says("…", InLesson(LessonWord.BEHIND))).behind is False
    assert room.now.replies[0].value("words") == "Nothing is drawn here."
    room.says("ready", READY)
    assert leading(room.says("…", InLesson(LessonWord.BEHIND))).behind
    assert not leading(room.says("…", InLesson(LessonWord.BEHIND))).behind
    room.says("…", InLesson(LessonWord.BEHIND))
    assert not leading(room.says("ready", READY)).behind


def test_seventeen_is_heard_and_leads_to_the_pictures(room: Room) -> None:
    """Of seventeen and seventy the possible one is meant; then one picture is chosen."""
    to_the_count(room)
    heard = understand_heard("i have seventeen stitches", phrase_book(), asked=True)
    assert heard == (CountStitches(17), CountStitches(70))
    now = room.says("i have seventeen stitches", *reversed(heard))  # type: ignore[arg-type]
    assert leading(now).offered == (Topic.EDGE_PULLED, Topic.STRAY_OVER)
    assert now.replies[0].value("words") == "1 stitch too many. Stop here."
    assert now.state.counts == ()
    now = room.says("the second one", InLesson(nth=Nth.SECOND))
    assert leading(now).rescue is Topic.STRAY_OVER


def test_who_counts_right_after_all_goes_on(room: Room) -> None:
    """While the pictures are offered, sixteen is the right count and no picture."""
    to_the_count(room)
    room.says("…", CountStitches(17))  # type: ignore[arg-type]
    assert leading(room.says("…", CountStitches(16))).at == COUNTING + 1  # type: ignore[arg-type]


@pytest.mark.parametrize("said", [Lost(), InLesson(LessonWord.WRONG)])
def test_who_is_lost_is_asked_by_pictures(room: Room, said: InLesson) -> None:
    """Six things that she may see, and once the word that it is no harm."""
    now = room.says("…", said)
    assert len(leading(now).offered) == 6
    assert str(now.replies[0].value("words")).startswith("It happens")
    room.says("ready", READY)
    again = room.says("…", said)
    assert not [one for one in again.replies if str(one.value("words")).startswith("It happens")]


@pytest.mark.parametrize(
    "said", [RowsDone(3), Measure(Length(Fraction(11), LengthUnit.CM)), Help(), InLesson()]
)
def test_what_would_count_unseen_is_refused(room: Room, said: RowsDone) -> None:
    """The piece behind the lesson stays as it is; the words of the lesson are told."""
    now = room.says("…", said)
    assert [one.say for one in now.replies] == [Say.LESSON_WORDS]
    assert now.state.done == 0
    assert now.state.lengths == ()
    assert leading(now).at == 0


def test_listening_is_steered_as_ever(room: Room) -> None:
    """Stop listening means what it always means, and the lesson stays."""
    now = room.says("stop listening", StopListening())
    assert room.ears.asked[-1] == "pause"
    assert now.lesson is not None


def test_back_to_the_board_leaves_it_to_wait(room: Room) -> None:
    """Then a row is a row again; "show the lesson" goes on at the same step."""
    room.says("ready", READY)
    assert room.says("back to the board", Show()).lesson is None
    assert room.says("row done", RowsDone()).state.done == 1
    now = room.says("show the lesson", Show(Screen.LESSON))
    assert leading(now).at == 1
    assert now.replies[0].value("words") == leading(now).step.say


def test_the_end_of_a_lesson_is_an_end(room: Room) -> None:
    """Ready at the end stays there; left then, there is nothing to go on with."""
    while not leading(room.now).over:
        count = leading(room.now).step.count
        said = CountStitches(count) if count else READY
        room.says("…", said)  # type: ignore[arg-type]
    assert leading(room.says("ready", READY)).over
    assert room.says("end the lesson", InLesson(LessonWord.LEAVE)).lesson is None
    assert room.says("show the lesson", Show(Screen.LESSON)).lesson is None


def test_short_answers_are_listened_for_all_the_while(room: Room) -> None:
    """From its beginning to its end, whatever comes in between."""
    assert room.ears.expected
    room.says("ready", READY)
    assert room.ears.expected
    room.says("back to the board", Show())
    assert not room.ears.expected


def test_typed_words_are_those_of_the_terminal(room: Room) -> None:
    """A bare number, "done" and "it looks wrong" do what they do there."""
    room.assistant.typed_and_answered("done")
    assert leading(room.now).at == 1
    room.assistant.typed_and_answered("it looks wrong")
    assert leading(room.now).offered
    room.assistant.typed_and_answered("2")
    assert leading(room.now).rescue is Topic.STRAY_OVER


def test_without_a_lesson_its_words_say_so(tmp_path: Path) -> None:
    """Nothing is begun by chance, and a lesson that is not there is not."""
    room = Room(tmp_path / "journal.sqlite")
    assert [one.say for one in room.says("ready", READY).replies] == [Say.NO_LESSON]
    now = room.says("begin lesson nine now", BeginLesson(9))
    assert [one.say for one in now.replies] == [Say.NO_SUCH_LESSON]
    assert now.lesson is None
    room.assistant.submit(READY, Source.KEY)
    assert room.settle().lesson is None
    room.assistant.stop()
