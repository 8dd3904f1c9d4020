"""Pieces of one journal that belong together, and a swatch that comes with a plan: end to end."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.command_line import main
from app.display.board_view import board_view
from app.display.screen_words import ScreenWording, read_texts
from app.language import phrase_book
from app.pieces.casting_on import new_piece
from app.pieces.same_again import the_same_again
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.controls import read_controls
from app.session.conversation import Conversation
from app.session.situation import Situation
from app.wording import reply_wording
from engine import events
from engine.commands import Source
from engine.fabric import Fabric
from engine.facts.swatches import counted_over
from engine.history import fold
from engine.journal.memory import MemoryJournal
from engine.journal.sqlite import SqliteJournal
from engine.quantities import centimetres
from engine.replies import Say
from speech.words.understand import understand

if TYPE_CHECKING:
    from pathlib import Path

    from engine.replies import Reply

SWATCH = counted_over(20, 28, centimetres(10), Fabric.RESTED, "4.5 mm")
BOTTLE = resources.path("shared/patterns/bottle-sleeve.toml")


def bottle(swatch: tuple[events.SwatchCounted, ...] = (), **more: str) -> NewPiece:
    """Return the bottle sleeve, ready to be cast on."""
    new = new_piece(resources.text("shared/patterns/bottle-sleeve.toml"), None)
    assert isinstance(new, NewPiece)
    return replace(new, swatch=swatch, **more)  # type: ignore[arg-type]


def say(talk: Conversation, *sentences: str) -> tuple[Reply, ...]:
    """Type sentences, each of which must be understood; return the last answer."""
    replies: tuple[Reply, ...] = ()
    for words in sentences:
        meant = understand(words, phrase_book())
        assert meant, words
        replies = talk.hear(meant, Source.TYPED).replies
    return replies


def finished(talk: Conversation) -> Conversation:
    """Knit a bottle sleeve to its end, 42 rows to the end of its body."""
    say(talk, "18 rows done", "measure 6.5 cm on the needle", "24 rows done", "this part is done")
    if talk.question is not None:  # three rows early by some swatches; she knows better
        say(talk, "yes")
    say(talk, "5 rows done", "yes")
    assert talk.state.finished
    return talk


def test_a_swatch_is_written_with_the_casting_on() -> None:
    """It stands in the first group, so that no undo takes it away by itself."""
    talk = Conversation.begin(MemoryJournal(), bottle((SWATCH,), lot="4711"), SetClock())
    groups = {record.group for record in talk.records}
    kinds = [record.event.kind for record in talk.records]
    assert len(groups) == 1
    assert kinds == ["pattern_kept", "piece_begun", "swatch_counted", "yarn_joined"]
    assert talk.state.undoable is None
    assert say(talk, "take that back")[0].say is Say.NOTHING_TO_TAKE_BACK
    assert talk.state.begun
    assert fold(talk.records) == talk.state


def test_a_partner_is_begun_from_the_journal() -> None:
    """Rows, length and swatch of the first are kept with the second; the target is its rows."""
    first = finished(Conversation.begin(MemoryJournal(), bottle((SWATCH,)), SetClock()))
    second = first.cast_on(bottle(partner=first.piece), Source.KEY)
    partner = second.state.partner
    assert partner is not None
    assert (partner.name, partner.rows, partner.finished) == ("Bottle sleeve", 47, True)
    assert second.state.swatch_counts[0].needle == "4.5 mm"
    say(second, "40 rows done")
    (only,) = say(second, "how far left")
    assert (only.say, only.value("rows")) == (Say.ROWS_LEFT_EXACTLY, 2)
    assert say(second, "2 rows done")[-1].say is Say.ASK_PART_DONE
    assert say(second, "yes")[0].say is Say.PART_BEGINS


def test_an_unknown_partner_is_no_piece() -> None:
    """Nothing is written for a partner that is not in the journal."""
    journal = MemoryJournal()
    with pytest.raises(KeyError):
        Conversation.begin(journal, bottle(partner="nobody"), SetClock())
    assert journal.records() == ()


def test_same_as_the_first_finds_the_first() -> None:
    """Begun without a partner, the question itself finds the first of the pattern, and keeps it."""
    first = finished(Conversation.begin(MemoryJournal(), bottle(), SetClock()))
    second = first.cast_on(bottle(), Source.KEY)
    say(second, "40 rows done")
    (only,) = say(second, "same as the first")
    assert (only.say, only.value("rows")) == (Say.SAME_ROWS_LEFT, 2)
    assert second.state.partner is not None
    before = len(second.records)
    say(second, "same as the first")
    assert len(second.records) == before, "what is known is not written again"
    say(second, "take that back")
    assert second.state.partner is None


def test_two_at_once_are_compared_as_far_as_they_are() -> None:
    """While the first goes on, asking again brings its newest rows."""
    first = Conversation.begin(MemoryJournal(), bottle(), SetClock())
    second = first.cast_on(bottle(partner=first.piece), Source.KEY)
    say(first, "20 rows done")
    say(second, "16 rows done")
    assert say(second, "same as the first")[0].value("rows") == 4
    say(first, "3 rows done")
    assert say(second, "same as the first")[0].value("rows") == 7


def test_no_other_piece_is_said() -> None:
    """Alone in the journal there is nothing to be the same as."""
    talk = Conversation.begin(MemoryJournal(), bottle(), SetClock())
    assert say(talk, "same as the first")[0].say is Say.NO_PARTNER


def test_measure_now_is_said_once_at_the_row_that_was_told() -> None:
    """Told "measure again at row M", the row's answer says so at M, and not again."""
    talk = Conversation.begin(MemoryJournal(), bottle((SWATCH,)), SetClock())
    say(talk, "14 rows done", "measure 5 cm from the cast on on the needle")
    again = say(talk, "how far left")[-1]
    assert again.say is Say.MEASURE_AGAIN
    row = again.value("row")
    assert isinstance(row, int)
    told = [
        number
        for number in range(15, row + 4)
        if Say.MEASURE_NOW in {one.say for one in say(talk, "row done")}
    ]
    assert told == [row]


def test_measuring_earlier_takes_the_reminder_away() -> None:
    """Who has measured in the meantime is not told to."""
    talk = Conversation.begin(MemoryJournal(), bottle((SWATCH,)), SetClock())
    say(talk, "14 rows done", "measure 5 cm from the cast on on the needle", "how far left")
    say(talk, "6 rows done", "measure 7.2 cm")
    said = [one.say for _ in range(20) for one in say(talk, "row done")]
    assert Say.MEASURE_NOW not in said


def test_hours_come_from_the_records_and_change_no_state() -> None:
    """Rows two minutes apart make hours; folding the same records by another clock is the same."""
    clock = SetClock()
    talk = Conversation.begin(MemoryJournal(), bottle((SWATCH,)), clock)
    for _ in range(20):
        clock.ms += 120_000
        say(talk, "row done")
    (only,) = say(talk, "how long will it take")
    assert only.say is Say.MINUTES_LEFT
    low, high = only.value("low"), only.value("high")
    assert isinstance(low, int)
    assert isinstance(high, int)
    assert low < 33 * 2 < high + 10
    assert fold(talk.records) == talk.state


# --- on the board -------------------------------------------------------------------------------

WORDS = ScreenWording(
    read_texts(resources.text("shared/window/words.toml")),
    reply_wording().written,
    reply_wording().rows.say,
    reply_wording().showing,
)
CONTROLS = read_controls(resources.text("shared/window/controls.toml"))


def notes(talk: Conversation, **more: int) -> list[str]:
    """Return the lines beside the drawing."""
    situation = Situation(talk.state, talk.course, **more)  # type: ignore[arg-type]
    return [note.words for note in board_view(situation, WORDS, CONTROLS).notes]


def test_the_board_names_the_partner_and_the_mirror_image() -> None:
    """Who knits a mirrored front sees it all the time."""
    first = Conversation.begin(MemoryJournal(), bottle(), SetClock())
    same = first.cast_on(bottle(partner=first.piece), Source.KEY)
    assert "The same as Bottle sleeve" in notes(same)
    mirrored = bottle(partner=first.piece)
    other = first.cast_on(replace(mirrored, mirrored=True), Source.KEY)
    assert "Mirror image of Bottle sleeve" in notes(other)


def test_the_board_shows_the_offer_of_a_rest() -> None:
    """As long as it stands there, and not before."""
    talk = Conversation.begin(MemoryJournal(), bottle(), SetClock())
    assert not any("rest" in line for line in notes(talk))
    assert any("rest" in line for line in notes(talk, rest=30))


def test_a_doubtful_length_shows_what_would_be_likely() -> None:
    """The question on the board names the range; the voice only reads the number back."""
    talk = Conversation.begin(MemoryJournal(), bottle((SWATCH,)), SetClock())
    (asks,) = say(talk, "18 rows done", "measure 40 cm")
    assert asks.say is Say.ASK_LENGTH_AGAIN
    assert "would be likely" in reply_wording().written(asks)
    assert reply_wording().spoken(asks) == "Forty centimetres?"


# --- from the command line ----------------------------------------------------------------------


def kept(path: Path) -> list[tuple[str, str]]:
    """Return piece names with the kinds of their records."""
    with SqliteJournal.open_to_read(path) as journal:
        return [
            (one.name, record.event.kind)
            for one in journal.pieces()
            for record in journal.records(one.id)
        ]


def test_a_plan_is_cast_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Walesong plan --begin keeps stitches, target, swatch, weight and lot; knitting goes on."""
    journal = tmp_path / "j.walesong"
    plan = [
        "plan", "--swatch", "20x26", "--unwashed", "20x28", "--width", "24 cm",
        "--length", "60 cm", "--needle", "4.5", "--ball", "100 g, 200 m",
        "--weighed", "7 g = 30x40", "--lot", "4711", "--begin", "Scarf",
        "--journal", str(journal),
    ]  # fmt: skip
    assert main(plan) == 0
    assert "Scarf is cast on" in capsys.readouterr().out
    assert [kind for _, kind in kept(journal)] == [
        "piece_begun", "swatch_counted", "swatch_counted", "swatch_weighed", "yarn_joined",
    ]  # fmt: skip
    typed = tmp_path / "typed.txt"
    typed.write_text("how far left\n", encoding="utf-8")
    assert main(["knit", "--typed", str(typed), "--journal", str(journal)]) == 0
    assert "55.7 cm" in capsys.readouterr().out


def test_a_planned_length_is_kept_as_a_person_says_it(tmp_path: Path) -> None:
    """22 rows of 28 to 10 cm are 7 6/7 cm; the target that is kept and shown is 7.9 cm."""
    journal = tmp_path / "j.walesong"
    plan = ["plan", "--swatch", "20x28", "--width", "24 cm", "--length", "8 cm", "--even-rows"]
    assert main([*plan, "--begin", "Mug", "--journal", str(journal)]) == 0
    with SqliteJournal.open_to_read(journal) as kept_there:
        (piece,) = kept_there.pieces()
        begun = kept_there.records(piece.id)[0].event
    assert isinstance(begun, events.PieceBegun)
    assert str(begun.target) == "7.9 cm"


def test_a_plan_is_not_begun_without_a_size(capsys: pytest.CaptureFixture[str]) -> None:
    """There is nothing to cast on without a swatch and a size."""
    assert main(["plan", "--evenly", "51+4", "--begin", "Scarf"]) == 2
    assert "swatch and a size" in capsys.readouterr().err


def test_a_partner_is_knitted_in_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A sleeve with its swatch, then the same again, mirrored: two rows longer, then the same."""
    journal, typed = tmp_path / "j.walesong", tmp_path / "typed.txt"
    knit = ["knit", "--typed", str(typed), "--journal", str(journal)]
    typed.write_text("42 rows done\nyes\nthis part is done\n5 rows done\nyes\n", encoding="utf-8")
    first = ["--pattern", str(BOTTLE), "--swatch", "20x28", "--needle", "4.5", "--lot", "4711"]
    assert main([*knit, *first]) == 0
    typed.write_text("40 rows done\nsame as the first\n", encoding="utf-8")
    assert main([*knit, "--same-as", "bottle sleeve", "--mirrored", "--lot", "4712"]) == 0
    assert "2 rows more, and it is the same as Bottle sleeve." in capsys.readouterr().out
    mine = [kind for name, kind in kept(journal) if name == "Bottle sleeve 2"]
    assert mine[:6] == [
        "pattern_kept", "piece_begun", "yarn_joined", "swatch_counted", "partner_named",
        "partner_part",
    ]  # fmt: skip


def test_a_partner_that_is_not_there_is_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The pieces that there are are named, and nothing is begun."""
    journal = tmp_path / "j.walesong"
    with SqliteJournal.open(journal) as open_one:
        Conversation.begin(open_one, bottle(), SetClock())
    with pytest.raises(KeyError, match="there are: Bottle sleeve"):
        the_same_again(journal, "sock")
    assert main(["knit", "--same-as", "sock", "--journal", str(journal)]) == 2
    assert "There is no piece 'sock'" in capsys.readouterr().err


def test_a_swatch_of_no_new_piece_is_a_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    """On the command line a swatch belongs to a piece that is cast on."""
    assert main(["knit", "--swatch", "20x28"]) == 2
    assert "--pattern" in capsys.readouterr().err


def test_halves_of_a_swatch_are_kept() -> None:
    """Twenty and a half stitches over four inches stay just that."""
    from app.pieces.plan_input import as_gauge, gauge  # noqa: PLC0415
    from engine.facts.swatches import swatch_events  # noqa: PLC0415
    from engine.plan.gauge import Swatch  # noqa: PLC0415

    swatch = Swatch(as_gauge(gauge("20.5x28/4in"), Fabric.WASHED), None)
    (only,) = swatch_events(swatch, Fraction(9, 2))
    assert isinstance(only, events.SwatchCounted)
    assert (only.stitches, str(only.stitches_over), only.needle) == (
        Fraction(41, 2), "4 in", "4.5 mm",
    )  # fmt: skip
