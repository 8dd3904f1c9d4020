"""Work that is divided: stitches on pins and holders, the yarn joined again, two sides alike."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, SizeVerdict, read_pattern


def verdict_on(cast_on: int, *rows: str) -> SizeVerdict:
    """Return what the check says of rows that are read without a problem."""
    text = f"title = 'x'\ncast_on = {cast_on}\nrows = {json.dumps(list(rows), ensure_ascii=False)}"
    document = read_pattern(text, row_reader())
    assert isinstance(document, PatternDocument), document
    return document.check()[0]


def left_after(cast_on: int, *rows: str) -> int | None:
    """Return the stitches after rows that add up."""
    verdict = verdict_on(cast_on, *rows)
    assert verdict.ok, verdict.problems
    assert verdict.warnings == ()
    return verdict.counts[-1].stitches


HALF = (
    "Next row (RS): k2tog, k8, turn and leave rem 11 sts on a holder",
    "Next row: p to end",
    "Cast off rem 9 sts",
)
SECOND = [
    ("With RS facing, slip centre st on a safety pin, rejoin yarn to rem 10 sts, k to end", 10),
    ("With RS facing, slip center st onto a pin, rejoin yarn, k8, ssk", 9),
    ("Slip next 3 sts onto a holder, rejoin yarn to rem 8 sts, k to end. 8 sts.", 8),
    ("With RS facing, rejoin yarn to rem 11 sts, cast off 3 sts, k to end", 8),
    ("With RS facing, rejoin yarn to rem sts, k2tog, k to end", 10),
]


@pytest.mark.parametrize(("line", "after"), SECOND, ids=[line for line, _ in SECOND])
def test_the_second_side_begins_with_the_stitches_on_hold(line: str, after: int) -> None:
    """What is laid aside just before the yarn is joined are stitches that were on hold."""
    assert left_after(21, *HALF, line) == after


def test_a_yarn_joined_to_another_number_is_found() -> None:
    """A forgotten centre stitch is found where the designer says how many are left."""
    verdict = verdict_on(21, *HALF, "Rejoin yarn to rem 10 sts, k to end")
    (problem,) = verdict.problems
    assert problem.off_by == 1
    assert "11 stitches are on hold, not 10" in problem.message


def test_a_yarn_joined_beside_a_band_goes_on_with_the_live_stitches() -> None:
    """Where nothing was on hold the band is laid aside and the others stay on the needle."""
    line = "Next row: slip first 7 sts onto a holder, rejoin yarn and k to end. 33 sts."
    assert left_after(40, line) == 33


def test_where_two_readings_fit_the_line_is_refused() -> None:
    """If the stitches can be those on hold or the live ones, the reader asks to say it apart."""
    verdict = verdict_on(
        40, "Next row: k20, turn, leaving rem 20 sts on a holder",
        "Next row: slip next 5 sts onto a holder, rejoin yarn, k to end",
    )  # fmt: skip
    (problem,) = verdict.problems
    assert "not clear to which stitches" in problem.message


MATCHED = [
    "Rejoin yarn to rem 11 sts, k9, k2tog. 10 sts.",
    "With RS facing, cast off centre st, k to last 2 sts, k2tog",
]


@pytest.mark.parametrize(
    "words",
    ["Complete to match first side, reversing shapings.", "Work as for first side.",
     "Finish this side to match first side, reversing shaping"],
)  # fmt: skip
def test_a_second_side_is_worked_like_the_first(words: str) -> None:
    """The lines of the first side are worked again, and only they."""
    begun = "Slip centre st on a pin, rejoin yarn to rem 10 sts, k8, k2tog. 9 sts."
    assert left_after(21, *HALF, begun, words) == 0
    short = "Slip next 2 sts on a pin, rejoin yarn to rem 9 sts, k to end."
    divided = (HALF[0], HALF[1], "Dec 1 st at beg of next row. 8 sts.", "Leave sts on a holder.")
    assert left_after(21, *divided, short, words) == 0


@pytest.mark.parametrize("words", ["Rejoin yarn to rem sts and complete to match first side."])
def test_the_row_that_divides_is_mirrored(words: str) -> None:
    """Where nothing is worked when the yarn is joined, the dividing row comes again, mirrored."""
    lines = (
        "Next row (RS): k8, k2tog, turn and leave rem 10 sts on a holder",
        "Next row: p to end. 9 sts.",
        "Cast off",
    )
    assert left_after(20, *lines, words) == 0
    verdict = verdict_on(21, "Next row (RS): k9, k2tog, turn, leave rem 10 sts on a pin",
                         "Next row: p to end", words)  # fmt: skip
    assert not verdict.ok


def test_a_side_that_is_not_clear_is_refused() -> None:
    """Without work that was divided nothing says what the first side is."""
    verdict = verdict_on(20, "Row 1: k to end", "Complete to match first side")
    (problem,) = verdict.problems
    assert "not clear which rows" in problem.message


@pytest.mark.parametrize(
    "line", ["Row 1: k2tog, k to last 2 sts, k2tog. 38 sts", "Row 1: ssk, k to last 2 sts, ssk. 38"]
)
def test_a_count_after_a_full_stop_is_no_amount(line: str) -> None:
    """The number behind "k2tog." is the count after the row."""
    assert left_after(40, line) == 38


BOTH_SIDES = [
    ("Dec 1 st at each neck edge every RS row 3 times. 12 sts each side.", 24),
    ("Dec 1 st at neck edge every RS row 3 times. (12 sts each side)", 24),
    ("Dec 1 st at neck edge on each side EOR 3 times", 24),
    ("Dec 1 st at both neck edges on next 3 rows", 24),
    ("BO 3 sts at each neck edge once, then 2 sts twice. 8 sts rem each side.", 16),
    ("At each neck edge BO 3 sts once, then 2 sts twice", 16),
    ("Working both sides at once, at each neck edge dec 1 st every row 4 times", 22),
    ("BO 5 sts at neck edge once", 20),
    ("Dec 1 st each side of neck every row 4 times", 22),
    ("BO rem 15 sts each side", 0),
    ("Place both sets of 15 sts on holders", 0),
]


@pytest.mark.parametrize(("line", "after"), BOTH_SIDES, ids=[line for line, _ in BOTH_SIDES])
@pytest.mark.parametrize(
    "neck",
    [
        "Shape Neck - Next row (RS): K15, join a second ball of yarn, bind off 10, k to end. [30]",
        "Next row: K15, attach second ball of yarn and BO center 10, k to end. 15 sts each side.",
        "Next row (RS): K15, place center 10 sts on a holder, join 2nd ball of yarn and k to end",
    ],
)
def test_both_sides_of_a_neck_are_worked_at_once(neck: str, line: str, after: int) -> None:
    """With two balls "at neck edge" is at both, and what is said of each side counts twice."""
    assert left_after(40, neck, "Next row: p to end", line) == after


def test_each_side_is_half_of_the_stitches() -> None:
    """A count of each side is compared with half of what is on the needle, never with a third."""
    neck = "Next row (RS): K15, join a second ball of yarn, k to end"
    verdict = verdict_on(30, neck, "Dec 1 st at neck edge every RS row 5 times. 8 sts each side.")
    (problem,) = verdict.problems
    assert problem.off_by == 4


def test_both_sets_are_all_stitches() -> None:
    """Two sets that are put on holders are compared with the stitches that are there."""
    verdict = verdict_on(30, "Row 1: k to end", "Place both sets of 16 sts on holders.")
    (problem,) = verdict.problems
    assert problem.off_by == -2


THUMB = [
    ("Next row (RS): k14, turn, leaving rem 8 sts on a pin.", "Next row: p6, turn."),
    ("Next row (RS): k14, turn.", "Next row: p6, turn."),
    ("Next row (RS): k14, turn.", "Leave rem 8 sts on a pin.", "Next row: p6, turn."),
    ("Next row (RS): k14, turn and leave rem sts on a holder", "Next row: p6, turn"),
]


@pytest.mark.parametrize("opening", THUMB)
@pytest.mark.parametrize(
    "joined",
    ["With RS facing, rejoin yarn and k across rem 8 sts. (16 sts)",
     "Next row (RS): rejoin yarn to rem sts, k to end. (16 sts)"],
)  # fmt: skip
def test_a_thumb_in_the_middle_leaves_both_sides(opening: tuple[str, ...], joined: str) -> None:
    """What waits before the thumb never leaves the needle: it is there when the yarn is joined."""
    thumb = ("Working on these 6 sts only, work 4 rows in st st.", "Bind off.")
    assert left_after(22, *opening, *thumb, joined) == 16
    assert left_after(22, *opening, *thumb, joined, "Next row: p to end. 16 sts.") == 16


def test_a_side_that_waits_is_worked_alone() -> None:
    """Where the rest of the row waits, only it is worked when the yarn is joined to it."""
    side = ("Next row (RS): k12, turn.", "Work on these 12 sts only for 4 rows.", "Bind off.")
    assert left_after(22, *side, "Rejoin yarn to rem 10 sts, k to end. 10 sts.") == 10


def test_a_number_worked_on_that_is_not_there_is_found() -> None:
    """A wrong number in "working on these 7 sts only" is compared with what was worked last."""
    lines = (*THUMB[0], "Working on these 7 sts only, work 4 rows in st st.")
    assert not verdict_on(22, *lines).ok


def test_the_last_side_is_worked_and_the_others_left() -> None:
    """To leave the remaining stitches on a holder says again that only the last are worked."""
    neck = "Next row (WS): p8, cast off 6, p to end."
    only = "Cont on last 8 sts only, leaving rem sts on a holder."
    assert left_after(22, neck, only) == 8
    joined = "Rejoin yarn to rem 8 sts, work to end. 8 sts."
    assert left_after(22, neck, only, "Bind off.", joined) == 8


@pytest.mark.parametrize(
    "line",
    ["Row 1: sl1p, k1, sl 1p, k to end", "Row 1: sl1k, p to end", "Row 1: [sl1p, k1] 9 times"],
)
def test_a_slip_and_its_letter_are_one_stitch(line: str) -> None:
    """One stitch slipped purlwise ("sl1p") is no slip and a purl row."""
    assert left_after(18, line) == 18
