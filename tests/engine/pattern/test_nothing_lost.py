"""Nothing that names a stitch, an amount, a row, a side or a needle is read past."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, read_pattern

LIVE_ASIDE = [
    "For sleeve cast on 9 sts at end of next row",
    "For neck opening bind off centre 8 sts",
    "Divide for neck by placing centre 8 sts on holder",
    "Change to 5 mm needles decreasing 3 sts evenly",
    "Working from the RS pick up and knit 14 sts",
    "Working both sides at once BO 2 sts at each neck edge",
    "Cast on 6 sts using cable method k to end",
    "Note: the first 5 sts are worked in garter stitch",
    "Divide for neck by k15, turn",
    "Mark each end and inc 2 sts",
    "Press work and pick up 12 sts",
    "Keeping band in garter st and working a buttonhole every 8th row, knit 10 rows",
]
HARMLESS = [
    "Change to 3.75 mm needles",
    "Using larger needles, k 1 row",
    "Weave in ends, sew the side seam and press both sides lightly",
    "Break yarn, leaving a 20 cm tail",
    "These 6 rows form the pattern",
    "Place markers at both ends of last row",
    "Turn work 90 degrees clockwise",
    "With right sides together",
]
COPIES = [
    "through rnd 4", "to rnd 4", "up to rnd 4", "ending with rnd 4", "for 4 rnds",
    "without the decreases", "but omit the thumb", ", casting on 50 sts", "then k 3 rnds",
]  # fmt: skip
PIECES = """
title = "Two mug sleeves"
[[piece]]
title = "Left sleeve"
cast_on = 36
in_the_round = true
rows = ["Rnd 1: k to end", "Rnd 2: k to end", "Rnd 3: (k7, k2tog) 4 times", "Rnd 4: k to end",
        "Bind off all sts"]
[[piece]]
title = "Right sleeve"
cast_on = 36
in_the_round = true
rows = [{}, "Next rnd: k to end", "Bind off all sts"]
"""
HELD = ["Row 1 (RS): k15, place rem 21 sts on a holder", "Row 2: p15", "BO 15 sts"]
COUNTED: list[tuple[int, list[str], int | None]] = [
    (36, ["Inc row (inc 5 sts): *k9, m1; rep from * to end"], None),
    (36, ["Inc row (inc 4 sts): *k9, m1; rep from * to end"], 40),
    (36, ["Row 1 (RS, dec 2 sts): k1, k2tog, k to last 3 sts, ssk, k1"], 34),
    (36, ["Row 1 (RS, dec 3 sts): k1, k2tog, k to last 3 sts, ssk, k1"], None),
    (36, ["Row 1: *k7, k2tog; rep from * to end (dec 4 sts)"], 32),
    (36, ["Row 1: *k7, k2tog; rep from * to end (dec 8 sts)"], None),
    (36, ["Row 1: k to end (dec 2 sts across the row)"], None),
    (16, ["BO rem 15 sts"], None),
    (16, ["BO rem 16 sts"], 0),
    (36, [*HELD, "Return 99 held sts to needle"], None),
    (36, [*HELD, "Place 99 held sts on needle"], None),
    (36, [*HELD, "Slip 99 sts from holder to needle"], None),
    (36, [*HELD, "Transfer 99 held sts to needle"], None),
    (36, [*HELD, "Put 99 held sts back on needle"], None),
    (36, [*HELD, "Transfer 21 held sts to needle", "Row 1: k to end"], 21),
    (36, ["Graft 10 sts"], None),
    (36, ["Bind off all sts", "Next row: k to end"], None),
    (36, ["Increasing 6 sts evenly across first row, work in st st for 10 rows"], 42),
    (36, ["Dec 1 st at each end of the 3rd row and of every foll 4th row 5 times in all"], 26),
    (36, ["Dec 1 st at each end of the 3rd row and every foll 4th row 5 times more"], 24),
    (36, ["Dec 1 st at each end of 3rd and foll 4th row"], 32),
    (36, ["Cont to inc 1 st at each end of every RS row until there are 46 sts"], 46),
    (36, ["Keep increasing 2 sts evenly on every other row until there are 46 sts"], 46),
    (36, ["Row 1: (k1, yo, k1) in each st to end"], 108),
    (36, ["Row 1: (k1, yo, k1) in every st to end"], 108),
    (3, ["Row 1: sk2p. Do not fasten off. 1 st"], 1),
    # in all, or more? only a stated count can tell
    (36, ["Dec 1 st at each end of the 3rd row and every foll 4th row 5 times"], None),
    (36, ["Dec 1 st at each end of the 3rd row and every foll 4th row 5 times. 26 sts"], 26),
    (36, ["Dec 1 st at each end of the 3rd row and every foll 4th row 5 times. 24 sts"], 24),
    (36, ["Dec 1 st at each end of 3rd and every foll 4th row 5 times in all"], 26),
    (36, ["Dec 1 st at each end of 3rd and every foll 4th row 5 times more"], 24),
    (36, ["Dec 1 st at each end of next and every foll 4th row 5 times"], None),
    # a number beside a number, a change beside a count, parts beside the whole
    (36, ["Row 1: k 21 15"], None),
    (36, ["Row 1: k twenty one twenty one"], None),
    (36, ["Row 1: k1, m1, k to end (3 sts inc; 37 sts)"], None),
    (36, ["Row 1: k1, m1, k to end (1 st inc; 37 sts)"], 37),
    (48, ["Row 1: (k4, p2) to end of row (7 times)"], None),
    (48, ["Row 1: (k4, p2) to end of row (8 times)"], 48),
    (36, ["Row 1: sl 2 to cn and hold in front, k2, k3 from cn, k to end"], None),
    (36, ["Row 1: sl 2 to cn and hold in front, k2, k2 from cn, k to end"], 36),
    (36, ["Row 1: k to end. 36 sts: 10 sts for each sleeve, 7 for front and 9 for back"], 36),
    (36, ["Row 1: k to end. 36 sts: 10 sts for each sleeve, 7 for front and 8 for back"], None),
    (36, ["Arrange sts on 3 needles: 12 sts on first, 12 on second and 12 on third"], 36),
    (36, ["Arrange sts on 3 needles: 12 sts on first, 12 on second and 11 on third"], None),
    # rows that would be lost
    (36, ["Knit 2 rows, dec 4 sts evenly"], None),
    (36, ["Knit one row, purl one row, dec 4 sts evenly, 3 times"], None),
    (36, ["Row 1: k2tog, k to end", "Row 2: p", "Rows 3-10: Rep rows 1 and 2 three times"], None),
    (36, ["Row 1: k2tog, k to end", "Row 2: p", "Rows 3-10: Rep rows 1 and 2 four times"], 31),
    (
        36,
        [
            "Row 1: k7, k2tog, k to end",
            "Row 2: k6, k2tog, k to end",
            "Cont to dec 3 sts in this way every row until 30 sts rem",
        ],
        None,
    ),
]


def counted(cast_on: int, lines: list[str]) -> int | None:
    """Return the stitches after the last line; None if the pattern is refused or found wrong."""
    rows = ",\n".join(json.dumps(line) for line in lines)
    document = read_pattern(f"title = 'x'\ncast_on = {cast_on}\nrows = [\n{rows}]", row_reader())
    if not isinstance(document, PatternDocument):
        return None
    (verdict,) = document.check()
    if not verdict.ok:
        return None
    return verdict.counts[-1].stitches if verdict.counts else cast_on


@pytest.mark.parametrize("line", LIVE_ASIDE)
def test_live_words_are_not_set_aside(line: str) -> None:
    """A line that holds an instruction among free words is never passed with the count before."""
    assert counted(36, [line]) is None


@pytest.mark.parametrize("line", HARMLESS)
def test_what_changes_no_stitch_is_still_set_aside(line: str) -> None:
    """Tools, finishing and notes that change no stitch are no false alarm."""
    assert counted(36, [line]) == 36


@pytest.mark.parametrize("words", COPIES)
def test_a_copied_piece_is_copied_whole_or_not_at_all(words: str) -> None:
    """What is worked otherwise than in the piece that is meant is refused, not read past."""
    line = json.dumps(f"Work as for Left sleeve {words}".replace(" ,", ","))
    document = read_pattern(PIECES.format(line), row_reader())
    assert not isinstance(document, PatternDocument) or not document.check()[0].ok


@pytest.mark.parametrize(("cast_on", "lines", "after"), COUNTED)
def test_what_is_stated_is_compared_with_what_is_there(
    cast_on: int, lines: list[str], after: int | None
) -> None:
    """The stitches were counted by hand; None where the words say what is not so, or not enough."""
    assert counted(cast_on, lines) == after
