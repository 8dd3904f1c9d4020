"""The word layer: one spelling for every word, and everything still points at what was written."""

from __future__ import annotations

import json

import pytest

from app import resources
from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, Problem, read_pattern
from engine.pattern.words import Words


def words() -> Words:
    """Return the words of the product."""
    return Words(resources.text("shared/words.toml"))


def counted(*lines: str, cast_on: str = "40") -> list[int | None]:
    """Return the stitches after each of these lines."""
    document = read_pattern(_file(lines, cast_on), row_reader(), in_spite=True)
    assert isinstance(document, PatternDocument), document
    return [count.stitches for count in document.check()[0].counts]


def wrong(*lines: str, cast_on: str = "40") -> tuple[Problem, ...]:
    """Return what is wrong with these lines."""
    document = read_pattern(_file(lines, cast_on), row_reader(), in_spite=True)
    return document.check()[0].problems if isinstance(document, PatternDocument) else document


def _file(lines: tuple[str, ...], cast_on: str) -> str:
    return f'title = "x"\ncast_on = {cast_on}\nrows = {json.dumps(lines)}\n'


@pytest.mark.parametrize(
    ("written", "usual"),
    [
        ("repeat the last two rounds", "rep the last two rnds"),
        ("commence with a wrong side row", "beg with a ws row"),
        ("knit  the   remaining stitches", "knit the rem sts"),
        ("pick up along the right side", "pick up along the right side"),
        ("wool round needle", "wool round needle"),
        ("in [k2, p2] ribbing", "in k2, p2 ribbing"),
        ("until scarf is 38 cm high", "until scarf measures 38 cm"),
    ],
)
def test_words_are_put_into_the_usual_spelling(written: str, usual: str) -> None:
    """Spellings, plurals and orders of words become one; what means a place stays."""
    assert words().usual(written)[0] == usual


@pytest.mark.parametrize(
    "written",
    ["repeat the last two rounds", "knit  the   remaining stitches, turn", "in [k2, p2] rib, k1"],
)
def test_every_sign_keeps_its_place(written: str) -> None:
    """The places of the signs grow with the line, and its end is its end."""
    usual, places = words().usual(written)
    starts = [places.start(place) for place in range(len(usual))]
    assert all(0 <= start < len(written) for start in starts)
    assert places.end(len(usual)) == len(written)
    last = usual.rsplit(maxsplit=1)[-1]
    at = usual.rindex(last)
    assert written[places.start(at) : places.end(len(usual))].endswith(last[-1])


def test_a_message_points_at_the_word_that_was_written() -> None:
    """What cannot be read is named as written, at its column, whatever stands spelled before it."""
    line = "Row 1: Knit to  the last 2 stitches, frumble, repeat to end."
    (problem, *_) = wrong(line)
    assert "'frumble'" in problem.message
    assert problem.column == line.index("frumble") + len('rows = ["') + 1


def test_what_is_done_on_each_needle_is_not_done_once() -> None:
    """On how many needles the stitches are is not known: the round is refused, not counted once."""
    assert (
        "how many needles"
        in wrong("Rnd 1: On each needle: k1, m1l, k to last st, m1r, k1.")[0].message
    )


def test_a_clause_without_work_is_set_aside() -> None:
    """Plain words at the end of a sentence change nothing, and need not be known."""
    assert counted("Bind off, leaving a long tail for the seam of the heel.") == [0]


@pytest.mark.parametrize(
    "line",
    [
        "Knit to the end of the row, except in the larger sizes.",
        "K2, nupp with a hook in the gap, k to end.",
        "Row 1: K to end, as on the front of the sleeve.",
    ],
)
def test_a_clause_that_may_change_something_is_refused(line: str) -> None:
    """A condition, another stitch or rows elsewhere are never set aside as plain words."""
    assert wrong(line)


def test_stitches_beyond_the_end_of_a_round_are_the_first_of_the_next() -> None:
    """The last five and the first five of a round go to waste yarn; a row has no such end."""
    work = "K to last 5 sts, slip next 10 sts to waste yarn."
    assert counted("Join to work in the round.", f"Next rnd: {work}")[-1] == 30
    assert wrong(f"Next row: {work}")


def test_a_round_that_stops_early_begins_the_next_one_there() -> None:
    """What is laid aside then lies on both sides of the marker, and takes the marker with it."""
    lines = (
        "Join to work in the round.",
        "K20, pm, k20.",
        "Work in st st until piece measures 10 cm, ending last rnd 2 sts before marker.",
        "Next rnd: *Place next 4 sts on waste yarn, removing marker, k16; rep from * once. 32 sts.",
    )
    assert counted(*lines)[-1] == 32
    assert not wrong(*lines)


def test_stitches_of_a_sleeve_are_laid_aside_not_taken_up() -> None:
    """Sleeve stitches that are left on waste yarn are off the needle."""
    assert counted("K10, leave 10 sleeve sts on waste yarn, k20.") == [30]


def test_after_a_fault_counting_goes_on_from_the_next_count() -> None:
    """A fault hides nothing behind the next count that is stated."""
    lines = ("Row 1: K50.", "Row 2: K to end. 40 sts.", "Row 3: K2tog, k to end.", "Row 4: K 99.")
    found = wrong(*lines)
    assert counted(*lines)[-1] == 39
    assert len(found) == 2


@pytest.mark.parametrize(
    "row",
    [
        "Row 1: fluffle the wumpets",
        "Rnd 1: (fluffle the wumpets)",
        "RS row: fluffle the wumpets to the wall",
        "Row 1 (RS): glorp the wumpets, k to end",
        "Row 1: k to end, then glorp the wumpets",
        "Row 1: sew the button to the wall",
    ],
)
def test_unknown_words_where_a_row_has_its_work_are_no_note(row: str) -> None:
    """What stands behind a row's number, or after "then", is work that is not known: refused."""
    assert wrong(row, "Row 2: p to end")
