"""The window: touches, keys, pedals and typed words give the same commands; nothing is lost."""

from __future__ import annotations

import queue
import time
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest

from app import language, resources, wording
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.controls import Asks, Control, read_controls
from app.session.conversation import Conversation
from app.session.keys import Doing, read_keys
from app.session.settings import Settings
from app.session.situation import Ear, HeardLine
from engine.commands import COMMANDS, CountStitches, Measure, NoteRow, RowsDone, Source, StopInRow
from engine.journal.memory import MemoryJournal
from engine.quantities import LengthUnit, centimetres, grams, inches
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.situation import Situation
    from app.window.desk import Notice
    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

CONTROLS = read_controls(resources.text("shared/window/controls.toml"))
KEYS = read_keys(resources.text("shared/keys.toml"), CONTROLS)
SEVENS: dict[Asks, Any] = {
    Asks.NUMBER: 7,
    Asks.LENGTH: centimetres(7),
    Asks.MASS: grams(7),
    Asks.TEXT: "too tight",
    Asks.NOTHING: None,
}
SEVEN, ENTER, ESCAPE, TAB, SPACE, PAGE_DOWN = 55, 13, 27, 9, 32, 281


def answered(driver: Driver, control: Control) -> Any:
    """Enter seven (or a text) where a control asks for it, and return what was handed over."""
    match control.asks:
        case Asks.NUMBER | Asks.LENGTH | Asks.MASS:
            for _ in range(1 + len(control.further)):
                driver.key(SEVEN)
                driver.key(ENTER)
                driver.frames(1)
        case Asks.TEXT:
            driver.stage.overlays[-1].ids.line.text = "too tight"
            driver.stage.overlays[-1].send()
        case Asks.NOTHING:
            pass
    driver.frames(2)
    assert len(driver.hands.submitted) == 1
    return driver.hands.submitted.pop()


def expected(driver: Driver, control: Control) -> Any:
    """Return the command that a control gives for seven."""
    following = control.following(7)
    if following is not None:
        return expected(driver, following)
    assert driver is not None
    at: Control | None = control
    while True:
        assert at is not None
        value = SEVENS[at.asks]
        if not at.further:
            return at.said(value)
        at = at.following(value)


def test_every_control_gives_its_command_by_touch(open_window: Opener) -> None:
    """Each control on the page of everything, touched, hands over its command as a touch."""
    driver = open_window(situation=Needle().situation())
    for _, group in CONTROLS.groups:
        for control in group:
            driver.key(283)  # F2: everything
            page = driver.stage.overlays[-1]
            if control not in CONTROLS.screens and page.unfolded != page.group_of(control):
                page.unfold(page.group_of(control))
                driver.frames(2)
            button = page.buttons[control.key]
            driver.scroll_to(page, button)
            driver.tap(button)
            said, source = answered(driver, control)
            assert said == expected(driver, control), control.key
            assert source is Source.TOUCH
            leads = control in CONTROLS.screens or control.key in {
                "begin_lesson",
                "show_compose",
                "show_take",
            }
            assert bool(driver.stage.overlays) is leads, control.key


def test_every_key_gives_its_command(open_window: Opener) -> None:
    """Each key of the map, pressed, hands over its command, as a key or as a pedal."""
    driver = open_window(situation=Needle().situation())
    for code, binding in KEYS.bindings.items():
        if isinstance(binding.bound, Doing):
            continue
        driver.key(code)
        said, source = answered(driver, binding.bound)
        assert said == expected(driver, binding.bound), binding.key
        assert source is binding.source
        driver.stage.close_all()  # a key belongs to the page that is seen


def test_a_held_key_counts_once(open_window: Opener) -> None:
    """Sixteen key-downs of a held space bar are one row."""
    driver = open_window(situation=Needle().situation())
    driver.key(SPACE, held_for=16)
    assert driver.hands.submitted == [(RowsDone(), Source.KEY)]
    driver.key(SPACE)
    assert len(driver.hands.submitted) == 2


def test_keys_go_by_code_not_by_character(open_window: Opener) -> None:
    """A key-down that arrives with a strange character does what its code says."""
    from kivy.core.window import Window  # noqa: PLC0415

    driver = open_window(situation=Needle().situation())
    Window.dispatch("on_key_down", PAGE_DOWN, 78, "\u0000ü", [])
    Window.dispatch("on_key_up", PAGE_DOWN, 78)
    driver.frames(1)
    assert driver.hands.submitted == [(RowsDone(), Source.PEDAL)]


def test_typed_words_are_handed_over_as_they_are(open_window: Opener) -> None:
    """A line that was typed goes to the assistant in words; the line is ready for the next."""
    driver = open_window(situation=Needle().situation())
    driver.key(TAB)
    line = driver.stage.overlays[-1]
    line.ids.line.text = "3 rows done"
    line.send()
    assert driver.hands.words == ["3 rows done"]
    assert line.typed == ""
    assert driver.hands.submitted == []


def test_letters_typed_into_a_line_are_no_commands(open_window: Opener) -> None:
    """While a line is open, keys write into it and do nothing else."""
    driver = open_window(situation=Needle().situation())
    driver.key(TAB)
    for code in (117, SPACE, 98, 8):
        driver.key(code)
    assert driver.hands.submitted == []


def test_unsent_text_is_kept(open_window: Opener) -> None:
    """A note that was begun and closed is there again when the line is opened again."""
    driver = open_window(situation=Needle().say("row done").situation())
    driver.reach("Write a note")
    driver.stage.overlays[-1].ids.line.text = "half a thought"
    driver.key(ESCAPE)
    driver.key(TAB)
    assert driver.stage.overlays[-1].typed == ""
    driver.key(ESCAPE)
    driver.reach("Write a note")
    line = driver.stage.overlays[-1]
    assert line.typed == "half a thought"
    line.send()
    assert driver.hands.submitted == [(NoteRow(None, "half a thought"), Source.TOUCH)]


def test_nothing_is_touched_through_a_page(open_window: Opener) -> None:
    """A touch beside what a page holds does nothing to the board that it hides."""
    from kivy.tests.common import UnitTestTouch  # noqa: PLC0415

    driver = open_window(situation=Needle().say("row done").situation())
    row_done = driver.button("Row done")
    where = row_done.to_window(*row_done.center)
    driver.key(283)
    page = driver.stage.overlays[-1]
    page.scroll.disabled = True  # so that nothing on the page takes the touch
    touch = UnitTestTouch(*where)
    touch.touch_down()
    driver.frames(1)
    touch.touch_up()
    driver.frames(1)
    assert driver.hands.submitted == []
    driver.key(ESCAPE)
    driver.tap(driver.button("Row done"))
    assert driver.hands.submitted == [(RowsDone(), Source.TOUCH)]


def test_escape_never_ends_the_program(open_window: Opener) -> None:
    """Escape (and "back" on a phone) closes what is on top, and on the board does nothing."""
    from kivy.core.window import Window  # noqa: PLC0415

    driver = open_window(situation=Needle().situation())
    driver.key(283)
    assert driver.stage.overlays
    driver.key(ESCAPE)
    assert not driver.stage.overlays
    assert Window.dispatch("on_key_down", ESCAPE, 0, None, []) is True
    Window.dispatch("on_key_up", ESCAPE, 0)
    assert driver.board is not None


def test_the_pedal_works_while_a_pad_is_open(open_window: Opener) -> None:
    """A pedal pressed while a number is asked for counts its row and closes the pad."""
    driver = open_window(situation=Needle().situation())
    driver.key(99)  # c: count
    driver.key(SEVEN)
    driver.key(PAGE_DOWN)
    assert driver.hands.submitted == [(RowsDone(), Source.PEDAL)]
    assert not driver.stage.overlays


def test_a_length_in_eighths_by_touch(open_window: Opener) -> None:
    """Who measures in inches enters 4 3/8 in with five touches."""
    driver = open_window(
        situation=Needle().say("row done").situation(), settings=Settings(length_unit=LengthUnit.IN)
    )
    driver.reach("Measure")
    for title in ("4", "¼", "⅛", "OK"):
        driver.tap(driver.button(title))
    assert driver.hands.submitted == [(Measure(inches(Fraction(35, 8))), Source.TOUCH)]


def test_nothing_is_counted_without_a_number(open_window: Opener) -> None:
    """OK without a number does nothing and leaves the pad open; zero stitches is a number."""
    driver = open_window(situation=Needle().situation())
    driver.key(99)
    driver.key(ENTER)
    assert driver.stage.overlays
    assert driver.hands.submitted == []
    driver.key(48)
    driver.key(ENTER)
    assert driver.hands.submitted == [(CountStitches(0), Source.KEY)]


def test_a_question_for_a_number_opens_the_pad(open_window: Opener) -> None:
    """The question after how many brings the number pad once; the number answers it."""
    needle = Needle().say("row done")
    driver = open_window(situation=needle.situation())
    driver.show(needle.say("stopping in this row").situation())
    assert driver.stage.overlays
    driver.key(50)
    driver.key(51)
    driver.key(ENTER)
    assert driver.hands.submitted == [(StopInRow(23), Source.TOUCH)]


def test_a_question_is_answered_by_touch(open_window: Opener) -> None:
    """While a question stands, yes and no stand on the board with the words to say."""
    needle = Needle("bottle-sleeve").say("20 rows done", "i'm really on row 18")
    driver = open_window(situation=needle.situation())
    yes = driver.button("Yes")
    assert yes.phrase == "yes"
    driver.tap(yes)
    assert driver.hands.submitted[-1][0].name == "yes"


def test_only_the_newest_situation_is_drawn(open_window: Opener) -> None:
    """A burst of situations ends with the last one on the board."""
    needle = Needle("bottle-sleeve")
    driver = open_window(situation=needle.situation())
    for _ in range(30):
        driver.inbox.put(needle.say("row done").situation())
    driver.frames(1)
    assert driver.board.ids.numeral.words == "31"


def test_a_quiet_room_does_not_keep_drawing(open_window: Opener) -> None:
    """The flicker of a quiet microphone, ten times a second, draws no frame; a voice does."""
    from kivy.core.window import Window  # noqa: PLC0415

    now = Needle("bottle-sleeve").say("9 rows done").situation(level=0.1)
    driver = open_window(situation=now)
    driver.frames(3)
    drawn: list[object] = []
    Window.bind(on_flip=lambda *_: drawn.append(None))
    for step in range(20):
        driver.inbox.put(replace(now, level=0.08 + step % 5 / 100))
        driver.frames(1)
    assert drawn == []
    driver.inbox.put(replace(now, level=0.9))
    driver.frames(2)
    assert drawn


def test_trouble_is_shown_at_once(open_window: Opener) -> None:
    """A lost microphone is on the board in the next frame, with its sentence."""
    needle = Needle()
    driver = open_window(situation=needle.situation())
    driver.inbox.put(needle.situation(ear=Ear.LOST, trouble="The microphone is gone."))
    driver.frames(1)
    board = driver.board
    assert board.ids.ear.words == "Microphone lost"
    assert "The microphone is gone." in [span.words for span in board.ids.heard.spans]


def test_what_was_refused_is_shown_with_its_reason(open_window: Opener) -> None:
    """Words that were not obeyed, and why, stand on the board."""
    driver = open_window(
        situation=Needle()
        .say("row done")
        .situation(heard=HeardLine("tea please", accepted=False, why="Not for me."))
    )
    words = " ".join(span.words for span in driver.board.ids.heard.spans)
    assert "tea please" in words
    assert "Not for me." in words


def test_turning_the_device_keeps_everything(open_window: Opener) -> None:
    """After turning the screen the same row stands on it, and an open pad keeps its number."""
    from kivy.core.window import Window  # noqa: PLC0415

    driver = open_window(
        situation=Needle("bottle-sleeve").say("9 rows done").situation(), screen="phone"
    )
    driver.reach("Count")
    driver.key(SEVEN)
    Window.size = (2340, 1080)
    driver.frames(3)
    assert driver.stage.overlays[-1].title == "Count: 7"
    driver.key(ESCAPE)
    assert driver.board.ids.numeral.words == "10"
    assert driver.board.width == 2340


def test_left_handed_knitting_is_mirrored(open_window: Opener) -> None:
    """For a left-hander the drawing is the mirror image; the words are the same."""
    now = Needle("bottle-sleeve").say("7 rows done").situation()
    left_x = open_window(situation=now).board.ids.fabric.picture.work_x
    words = open_window(situation=now).board.ids.place.spans
    other = open_window(situation=now, settings=Settings(left_handed=True))
    assert other.board.ids.fabric.picture.work_x == pytest.approx(-left_x)
    assert other.board.ids.place.spans == words


# --- with the real assistant behind it -----------------------------------------------------------


def knitted_by(open_window: Opener, steps: Callable[[Driver], None]) -> list[Any]:
    """Run the window with a real assistant and return the events that were written."""
    from app.session.assistant import Assistant  # noqa: PLC0415
    from app.session.ports import Silent  # noqa: PLC0415
    from app.window.desk import Hands, furnish  # noqa: PLC0415

    new = new_piece(resources.text("shared/patterns/bottle-sleeve.toml"), None)
    assert isinstance(new, NewPiece)
    inbox: queue.SimpleQueue[Situation | Notice] = queue.SimpleQueue()
    events: list[Any] = []
    assistant = Assistant(
        lambda: Conversation.begin(MemoryJournal(), new, SetClock()),
        language.phrase_book(),
        inbox.put,
        Silent(),
    )
    assistant.observe(
        lambda one: events.extend(
            record.event for record in (one.outcome.written if one.outcome else ())
        )
    )
    desk = furnish(
        Hands(submit=assistant.submit, typed=assistant.typed),
        inbox,
        wording=wording.reply_wording,
    )
    assistant.start()
    driver = open_window(desk=desk)
    try:
        wait(driver, lambda: driver.stage.situation is not None)
        steps(driver)
    finally:
        assistant.stop()
    return events


def wait(driver: Driver, until: Callable[[], bool]) -> None:
    """Draw frames until something is so; fail after a minute."""
    end = time.monotonic() + 60
    while not until():
        assert time.monotonic() < end, "the window did not get there in time"
        driver.frames(1)


def test_touch_keys_and_typed_words_write_the_same_events(open_window: Opener) -> None:
    """A row, a count, a measure, a note and an undo: three ways, the same event payloads."""

    def settled(driver: Driver, text: str) -> None:
        wait(driver, lambda: text in " ".join(s.words for s in driver.board.heard_spans()))

    def by_touch(driver: Driver) -> None:
        driver.tap(driver.button("Knit now"))
        driver.tap(driver.button("Row done"))
        wait(driver, lambda: driver.board.view.number == "2")
        driver.tap(driver.button("Row done"))
        wait(driver, lambda: driver.board.view.number == "3")
        driver.reach("Count")
        for title in ("5", "4", "OK"):
            driver.tap(driver.button(title))
        settled(driver, "Right")
        driver.reach("Undo")

    def by_key(driver: Driver) -> None:
        for _ in range(2):
            driver.key(SPACE)
        wait(driver, lambda: driver.board.view.number == "3")
        for code in (99, 53, 52, ENTER):
            driver.key(code)
        settled(driver, "Right")
        driver.key(8)

    def by_typing(driver: Driver) -> None:
        driver.key(TAB)
        line = driver.stage.overlays[-1]
        for words in ("row done", "row done", "i count 54 stitches", "take that back"):
            line.ids.line.text = words
            line.send()
        driver.frames(2)

    ways = [knitted_by(open_window, steps) for steps in (by_touch, by_key, by_typing)]
    kinds = [[event.kind for event in events] for events in ways]
    assert kinds[0] == ["rows_worked", "rows_worked", "stitches_counted", "undone"]
    assert kinds[0] == kinds[1] == kinds[2]
    for events in zip(*ways, strict=True):
        if events[0].kind != "undone":  # that one names the group, which differs by design
            assert events[0] == events[1] == events[2]


def test_every_command_is_on_the_page_of_words(open_window: Opener) -> None:
    """The page of words and keys has an entry for every command, with its help sentence."""
    driver = open_window(situation=Needle().situation())
    driver.key(282)
    page = driver.stage.overlays[-1]
    assert set(COMMANDS) <= set(page.entries)
    book = language.phrase_book()
    for name, entry in page.entries.items():
        assert book.help[name] in [span.words for span in entry.spans]
    assert "backquote" in "".join(span.words for span in page.held.spans)


@pytest.mark.parametrize("sign", [45, 269, 47])
def test_a_sign_on_the_pad_is_seen_and_gives_no_number(open_window: Opener, sign: int) -> None:
    """A minus or a stroke keyed into the pad is seen and refused; taken back, the number counts."""
    driver = open_window(situation=Needle().situation())
    driver.key(99)  # c: count
    for code in (sign, SEVEN, ENTER):
        driver.key(code)
    driver.frames(2)
    pad = driver.stage.overlays[-1]
    assert driver.hands.submitted == []
    words = driver.stage.desk.words
    assert pad.subtitle in {words("pad", one) for one in ("below_none", "no_such_number")}
    for code in (8, 8, SEVEN, ENTER):
        driver.key(code)
    driver.frames(2)
    assert driver.hands.submitted == [(CountStitches(7), Source.KEY)]
