"""What is written out of a piece is read again to the same rows, stitches and lengths."""

from __future__ import annotations

from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import course_of, document_of
from engine.commands import Since
from engine.compose.written_out import both_units, ends_of_parts, written_out
from engine.composing import Shaping
from engine.fabric import Fabric
from engine.pattern import PatternDocument
from engine.quantities import Length, LengthUnit
from engine.said_events import RowMended, RowSaid, RowsRepeated, ShapingSaid
from engine.state import PieceState, Reading, RowNote

if TYPE_CHECKING:
    from engine.pattern import Course

EVEN = ("k to end", "p to end", "*k1, p1; rep from * to end",
        "k1, *k2tog, yo; rep from * to last st, k1",
        "k2, p2, k2, p2, k2, p2, k2, p2, k to end", "sl1 wyif, k to end")  # fmt: skip
SHAPED = (
    "k1, ssk, k to last 3 sts, k2tog, k1",
    "k1, m1, k to last st, m1, k1",
    "kfb, k to last st, kfb",
)


def made_up(dice: Random) -> PieceState:
    """Return a piece made up by chance: rows, repeats, parts to a length, shapings, notes."""
    said: list[RowSaid | RowsRepeated | ShapingSaid] = []
    ended: dict[str, int] = {}
    at, notes = 1, []
    for _ in range(dice.randint(1, 7)):
        kind = dice.random()
        if kind < 0.55 or at < 3:
            last = at + dice.choice([0, 0, 0, 1, 3])
            text = dice.choice(EVEN if dice.random() < 0.7 or last > at else SHAPED)
            said.append(RowSaid(at, last, text, None, in_round=False))
            at = last + 1
        elif kind < 0.75:
            rows, times = dice.randint(1, min(4, at - 1)), dice.randint(1, 6)
            said.append(RowsRepeated(at, at - rows, at - 1, times, None, None))
            at += rows * times
        elif kind < 0.85:
            every, times = dice.randint(1, 4), dice.randint(1, 3)
            last = at + every * times - 1
            said.append(
                ShapingSaid(at, last, at + every - 1, every, 1, dice.choice(list(Shaping)), None)
            )
            at = last + 1
        else:
            rows = dice.randint(1, min(4, at - 1))
            until = Length(Fraction(dice.randint(4, 40)), LengthUnit.CM)
            said.append(RowsRepeated(at, at - rows, at - 1, None, until, None))
            ended[f"made-{at}"] = at - 1 + rows * dice.randint(1, 5) + dice.randint(0, 1)
            at = ended[f"made-{at}"] + 1
    if dice.random() < 0.3:
        notes.append(RowNote(dice.randint(1, at - 1), "note", "a stray thread"))
    return PieceState(
        name="A mat", begun=True, cast_on=60, said=tuple(said), done=at - 1,
        ended=tuple(sorted(ended.items())), notes=tuple(notes),
    )  # fmt: skip


def read_again(text: str) -> Course:
    """Return the course of a text; it has to add up."""
    document = document_of(text)
    assert isinstance(document, PatternDocument), (document, text)
    course = document.course()
    assert not course.problems, (course.problems, text)
    return course


def stitches_of(course: Course, ended: dict[str, int], rows: int) -> list[tuple[object, ...]]:
    """Return of every row its side, its count and its words, brackets within it undone."""
    found: list[tuple[object, ...]] = []
    for row in range(1, rows + 1):
        place = course.where(ended, row)
        text = str(place.instruction).replace("(k2, p2) 4 times", ", ".join(["k2, p2"] * 4))
        found.append((row, place.side, place.before, place.after, text))
    return found


def test_knitting_from_it_gives_the_same_rows() -> None:
    """Over 300 pieces made up by chance every row has the same words, side and stitches again."""
    dice = Random(20_261_201)
    parts = 0
    for _ in range(300):
        state = made_up(dice)
        course = course_of(state)
        if course.problems:
            continue  # a lace row on an odd count: nobody could have said it
        text = written_out(state, course)
        again = read_again(text)
        ends = ends_of_parts(state, course)
        assert len(again.loops) == len(ends), text
        ended = {loop.id: row for loop, row in zip(again.loops, ends, strict=True)}
        parts += len(ends)
        assert stitches_of(again, ended, state.done) == stitches_of(
            course, state.loops_ended, state.done
        ), text
        assert again.last_row(ended) == state.done
    assert parts > 30


def test_a_part_is_written_with_its_measured_length() -> None:
    """What was measured at its end counts, in both units; a row noted in it is told beside."""
    reading = Reading(
        11,
        Length(Fraction(21, 2), LengthUnit.CM),
        Since.CAST_ON,
        0,
        Fabric.ON_NEEDLE,
        assumed=False,
    )
    state = PieceState(
        name="A mat", begun=True, cast_on=50, done=12, ended=(("made-3", 11),),
        said=(RowSaid(1, 1, "k to end", None, in_round=False),
              RowSaid(2, 2, "p to end", None, in_round=False),
              RowsRepeated(3, 1, 2, None, Length(Fraction(11), LengthUnit.CM), None),
              RowSaid(12, 12, "bo all sts", None, in_round=False)),
        lengths=(reading,), notes=(RowNote(5, "note", "another ball"),),
    )  # fmt: skip
    text = written_out(state, course_of(state))
    assert "until piece measures 10.5 cm (4 1/4 in) from cast-on edge, ending with a RS row" in text
    assert 'note = "Row 5: another ball."' in text
    assert read_again(text).loops[0].target == Length(Fraction(21, 2), LengthUnit.CM)
    assert both_units(Length(Fraction(4), LengthUnit.IN)) == "4 in (10 cm)"


def test_a_mended_row_is_written_as_it_was_worked() -> None:
    """The pattern has the row as she said it was, not as it was first written."""
    state = PieceState(
        name="A mat", begun=True, cast_on=50, done=4,
        said=(RowSaid(1, 4, "k to end", None, in_round=False),),
        mended=(RowMended(3, "p to end"),),
    )  # fmt: skip
    again = read_again(written_out(state, course_of(state)))
    assert [str(again.where({}, row).instruction) for row in range(1, 5)] == [
        "k to end", "k to end", "p to end", "k to end",
    ]  # fmt: skip
