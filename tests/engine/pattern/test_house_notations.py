"""What the houses write differently: sizes with slashes, colours in headings, steps, needles."""

from __future__ import annotations

import json

import pytest

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, Problem, SizeVerdict, read_pattern


def read(
    lines: tuple[str, ...], cast_on: str = "40", *, sizes: str = "", head: str = ""
) -> PatternDocument | tuple[Problem, ...]:
    """Return the pattern of these lines; `sizes` are parted by commas, `head` is more TOML."""
    text = "\n".join(
        [
            'title = "Lines"',
            f"cast_on = {json.dumps(cast_on)}",
            f"sizes = {json.dumps(sizes.split(','))}" if sizes else "",
            head,
            f"rows = {json.dumps(lines, ensure_ascii=False)}",
        ]
    )
    return read_pattern(text, row_reader())


def verdicts(
    *lines: str, cast_on: str = "40", sizes: str = "", head: str = ""
) -> tuple[SizeVerdict, ...]:
    """Return what the check says of these lines, for every size."""
    document = read(lines, cast_on, sizes=sizes, head=head)
    assert isinstance(document, PatternDocument), document
    return document.check()


def last_counts(
    *lines: str, cast_on: str = "40", sizes: str = "", head: str = ""
) -> list[int | None]:
    """Return the stitches after the last line, for every size; everything has to be right."""
    said = verdicts(*lines, cast_on=cast_on, sizes=sizes, head=head)
    assert all(verdict.ok for verdict in said), [verdict.problems for verdict in said]
    return [verdict.counts[-1].stitches for verdict in said]


def refusal(*lines: str, cast_on: str = "40", sizes: str = "", head: str = "") -> str:
    """Return the first thing that is wrong with these lines, in any size."""
    document = read(lines, cast_on, sizes=sizes, head=head)
    if not isinstance(document, PatternDocument):
        return document[0].message
    return next(problem.message for verdict in document.check() for problem in verdict.problems)


ROUND = "in_the_round = true"


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("Work 4/6/8 rnds in k2, p2 rib", [8, 12, 16]),
        ("Work 4/6/8 rounds even", [8, 12, 16]),
        ("Next rnd: k2/4/6, k2tog, k to end", [7, 11, 15]),
        ("Next rnd: *k2, k2tog; rep from * around. 6/9/12 sts", [6, 9, 12]),
        ("Work even until piece measures 1½/2/2½ in", [8, 12, 16]),
        ("Work even until piece measures 12/14/15.5 cm", [8, 12, 16]),
        ("Work 2/2 rib for 4/6/8 rnds", [8, 12, 16]),
    ],
)
def test_slashes_part_the_sizes(line: str, after: list[int]) -> None:
    """Numbers and lengths with slashes between them are one for each size."""
    assert last_counts(line, cast_on="8/12/16", sizes="S,M,L", head=ROUND) == after


def test_two_sizes_with_a_slash_are_two_numbers() -> None:
    """Like "k8/9": eight or nine stitches, where the pattern has two sizes."""
    line = "Row 1: k8/9, k2tog, k to end. 19/21 sts"
    assert last_counts(line, cast_on="20/22", sizes="S,M") == [19, 21]


def test_a_slash_is_not_guessed_at() -> None:
    """A slash in a pattern of one size is refused; a crossing and half an inch are not sizes."""
    assert "2 numbers stand here" in refusal("Row 1: k8/9, k2tog, k to end")
    assert "2 numbers stand here" in refusal("Work 10/12 rows even")
    assert last_counts("Row 1: 2/2 LC, 2/1 RPC, k to end") == [40]
    assert last_counts("Work even until piece measures 3/4 in") == [40]


def test_a_marker_at_the_join_is_the_beginning_of_the_round() -> None:
    """It is passed unsaid: "to first marker" means the first one within the round."""
    lines = (
        "Join, pm.",
        "Rnd 1: k16, pm, m1, pm, k to end.",
        "Rnd 2: k to first marker, sm, m1l, k to next marker, m1r, sm, k to end. 35 sts",
        "Next rnd: k to m, remove m, place next 3 sts on scrap yarn, remove m, k to end.",
    )
    assert last_counts(*lines, cast_on="32", head=ROUND) == [32]


def test_a_marker_at_every_corner_comes_round_again() -> None:
    """The last of the corners is where the round begins, whether a marker lies there or not."""
    lines = (
        "Rnd 1: *pm, k10; rep from * around.",
        "Rnd 2: *k to 2 sts before m, k2tog, sm; rep from * around. 36 sts",
    )
    assert last_counts(*lines, head=ROUND) == [36]


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("P 1 row, then BO all sts.", 0),
        ("Purl 1 row and bind off.", 0),
        ("K 2 rows, work in garter st for 5 cm", 40),
        ("Work 6 rows in garter st, then work even until piece measures 6 cm", 40),
        ("Cast off 2 sts at beg of next 2 rows, work 4 rows even (36 sts)", 36),
        ("Dec 1 st each end of every RS row 3 times, then work even for 5 cm, BO.", 0),
    ],
)
def test_a_line_may_say_one_stretch_after_the_other(line: str, after: int) -> None:
    """Each of them is worked, in the order in which they are said."""
    assert last_counts(line) == [after]


def test_no_row_of_a_line_is_lost() -> None:
    """Three kinds of rows in one line are as many rows as the line says."""
    document = read(("K 3 rows, p 1 row, then work 4 rows in st st.",))
    assert isinstance(document, PatternDocument)
    assert document.course().last_row({}) == 8
    assert "36 are stated" in refusal("K 3 rows, p 1 row (36 sts)")
    document = read(("Work 10 rows, then dec 1 st each end of next row. 38 sts",))
    assert isinstance(document, PatternDocument)
    assert document.course().last_row({}) == 11


def test_these_stitches_are_those_that_were_cast_on() -> None:
    """They are worked as they are cast on; without a cast-on they are the next ones."""
    line = "Next row (WS): cast on 60 sts, p these 60 sts, p to end. 88 sts"
    assert last_counts(line, cast_on="28") == [88]
    assert last_counts("Next row: k10, turn and p these 10 sts, turn, k to end.") == [40]
    assert "not as many" in refusal("Next row: cast on 6 sts, k these 5 sts, k to end")
    assert refusal("Next row: bind off these 10 sts, k to end")


def test_sizes_may_stand_between_several_brackets() -> None:
    """Sizes parted in groups, "20 (22, 24) 26, 28 (30, 32)", are as many as they are."""
    sizes = "1,2,3,4,5,6,7"
    cast_on = "20 (22, 24) 26, 28 (30, 32)"
    line = "Dec 1 st at neck edge on foll 3 RS rows. 17 (19, 21) 23, 25 (27, 29) sts."
    after = [17, 19, 21, 23, 25, 27, 29]
    assert last_counts(line, cast_on=cast_on, sizes=sizes) == after


COLOURS = '[colours]\nMC = "black"\nCC = "white"\n[[section]]\ntitle = "Part"'


def test_rows_of_one_number_are_told_apart_by_colour() -> None:
    """Brioche is worked twice over, once for each colour: both rows are one number."""
    lines = (
        "Rnd 1 MC: *k1, p1; rep from * around.",
        "Rnd 1 CC: k2tog, k to end.",
        "Rep Rnds 1 MC and 1 CC 3 more times.",
    )
    head = f"{ROUND}\n{COLOURS}"
    assert "1 stitch would be left over" in refusal(*lines, head=head)
    lines = (lines[0], "Rnd 1 CC: k2tog, k to last 2 sts, k2tog.", lines[2])
    assert last_counts(*lines, head=head) == [32]


def test_rows_of_one_number_are_told_apart_by_letters() -> None:
    """The rows "1a" to "2b" are repeated by name, or all rows of a number."""
    rows = ("Row 1a (RS): k", "Row 1b (RS): k", "Row 2a (WS): p", "Row 2b (WS): p2tog, p to end")
    assert last_counts(*rows, "Rep rows 1a-2b 3 more times") == [36]
    assert last_counts(*rows, "Rep rows 1 and 2 3 more times") == [36]
    assert last_counts(*rows, "Rep rows 1b and 2b 3 more times") == [36]
    assert last_counts(*rows, "Rep rows 1a-2a 3 more times") == [39]
    assert "no row 3 B" in refusal(*rows, "Rep rows 1a and 3b once more")


def test_every_row_of_one_number_is_worked_again() -> None:
    """All of them are rows: none is left out of a repeat by number."""
    rows = ("Rnd 1a: k", "Rnd 1b: p", "Rnd 2a: k", "Rnd 2b: p")
    document = read((*rows, "Rep rnds 1 and 2 four more times"))
    assert isinstance(document, PatternDocument)
    assert document.course().last_row({}) == 20


def test_stripes_with_colours_behind_their_numbers_are_rows_by_number() -> None:
    """A colour behind the numbers of several rows tells only what they are worked in."""
    lines = ("Rows 1-4 MC: knit", "Rows 5-6 CC: k2tog, k to end", "Rep rows 1-6 twice more")
    assert last_counts(*lines, head=COLOURS) == [34]


@pytest.mark.parametrize(
    "line",
    [
        "Row 2 (WS): knit the sts knit on last row, sl the slipped sts wyif.",
        "Row 2: K the knit sts and sl the slipped sts with yarn in front.",
        "Row 2: Knit all sts knitted on the previous row, slip all slipped sts wyif.",
        "Row 2: K the sts that were knit and slip the stitches that were slipped on the last row.",
        "Row 2: purl the sts worked on the RS row, sl the slipped ones.",
    ],
)
def test_the_row_back_of_a_mosaic_keeps_every_stitch(line: str) -> None:
    """What was knitted is knitted and what was slipped is slipped: nothing changes the count."""
    first = "Row 1: k1, *sl 1, k2; rep from * to end."
    assert last_counts(first, line) == [40]
    assert "41 are stated" in refusal(first, f"{line} 41 sts")


STEPS = (
    "Step 1. Dec row (right side): k1, k2tog, k to end. 39 sts",
    "Step 2. Work 3 rows in stockinette/stocking stitch, ending with a wrong-side row.",
)


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("Step 3. Repeat steps 1 and 2 twice more. 37 sts.", 37),
        ("Step 3. Rep steps 1-2 four times in all (36 sts)", 36),
        ("Step 3. Repeat Step 1. (38 sts)", 38),
        ("3. Repeat steps 1 and 2 once more.", 38),
        ("Step 3: Bind off / cast off in rib.", 0),
        ("Step 3: Cast off (bind off) 4 sts at beg of next 2 rows.", 31),
    ],
)
def test_steps_are_numbered_and_repeated(line: str, after: int) -> None:
    """A step is what stands behind its number; its count was that of the first time."""
    assert last_counts(*STEPS, line) == [after]


def test_headings_stand_behind_the_number_of_a_step() -> None:
    """Rows by number keep their numbers, whatever step they are."""
    lines = (
        "1. Row 1 (RS): k1, k2tog, k to end.",
        "2) Row 2: p",
        "Step 3: Rep rows 1-2 twice more.",
    )
    assert last_counts(*lines) == [37]


def test_steps_that_are_not_there_are_not_repeated() -> None:
    """A step that is not written, or an end that is no number of times, is refused."""
    assert "steps 1 and 7" in refusal(*STEPS, "Step 3. Repeat steps 1 and 7.")
    assert "not clear" in refusal(*STEPS, "Step 3. Repeat steps 1 and 2 until 30 sts rem.")


def test_all_round_is_once_along_the_round() -> None:
    """What is worked "all round" goes along the round; "all rounds" are rounds."""
    assert last_counts("Rnd 1: k2tog all round. 20 sts", head=ROUND) == [20]
    assert last_counts("Row 1: k2tog all along the row. 20 sts") == [20]


def test_an_opening_is_closed_by_casting_on_between_two_turns() -> None:
    """The work is turned only to cast on: no short row is left behind."""
    lines = (
        "Rnd 1: k10, cast off next 6 sts, k to end. 34 sts.",
        "Break yarn. Rejoin yarn at left side of opening and work back and forth in rows.",
        "Next row (RS): k to end, turn.",
        "Work back and forth in rows of st st for 3 rows.",
        "Next row (RS): k34, turn, cast on 6 sts, turn and join in the rnd again. 40 sts.",
        "Knit 4 rnds.",
    )
    assert last_counts(*lines, head=ROUND) == [40]
    assert last_counts("Next row: k20, turn, cast on 4 sts, turn, k20.") == [44]
    assert "35 are stated" in refusal(*lines[:3], "Work back and forth for 4 rows (35 sts)")


def test_yarn_is_rejoined_where_stitches_wait_or_where_none_do() -> None:
    """Stitches on hold are taken up; without any, the yarn is joined and nothing else."""
    hold = "Next row: k20, place next 8 sts on a holder, k to end."
    assert last_counts(hold, "Rejoin yarn at right side, k to end.") == [8]
    assert last_counts("Rejoin yarn at right side, k to end.") == [40]
    assert "on hold" in refusal("Rejoin yarn to rem 20 sts.")


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("Row 1: k2, kfb, k to last 3 sts, sl 3 pwise wyif. 1 st inc'd. [41 sts]", 41),
        ("Row 1: kfb, k to last 2 sts, sl 2 wyib. 41 sts", 41),
        ("Row 1: K. 2 sts, p. 2 sts, k. to end.", 40),
    ],
)
def test_a_count_may_follow_a_word_that_can_end_with_a_dot(line: str, after: int) -> None:
    """The dot ends the sentence: what follows is no amount of the stitch before it."""
    assert last_counts(line) == [after]


DEC_ROWS = ("Row 1: k1, ssk, k to end.", "Row 2: p.")


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("Rep last two rows until 30 sts rem.", 30),
        ("Rep these last 2 rows, dec'ing 1 st every RS row, until 30 sts rem.", 30),
        ("Rep last 2 rows, decreasing 1 st every other row, 5 times more. 34 sts", 34),
        ("Rep last 2 rows 4 times more, inc 6 sts evenly across last row. 41 sts", 41),
        ("Rep rows 1 and 2 until piece measures 5 cm and inc 3 sts evenly in the last row.", None),
        ("Rep this row twice.", 39),
    ],
)
def test_repeated_rows_are_compared_with_what_is_said_of_them(line: str, after: int | None) -> None:
    """What the words say the rows do is what they do; the last row may do more."""
    assert last_counts(*DEC_ROWS, line) == [after]


def test_repeated_rows_that_do_not_do_what_is_said_are_refused() -> None:
    """A shaping beside the rows that they do not have is not dropped."""
    line = "Rep rows 1 and 2, dec 1 st each end of every RS row, until 20 sts rem."
    assert "by -1 each time, the words say -2" in refusal(*DEC_ROWS, line)
    wrong = "Rep last 2 rows 4 times more, inc 6 sts evenly across last row. 42 sts"
    assert "42 are stated" in refusal(*DEC_ROWS, wrong)


def test_plain_rows_with_more_stitches_on_the_last() -> None:
    """Old houses increase across the last row of the ribbing, in each size by its own number."""
    last = "ending with a 2nd row and inc 4 (6) sts evenly across last row. 86 (92) sts."
    lines = (
        "1st row: *K2. P2. Rep from * to last 2 sts. K2.",
        "2nd row: *P2. K2. Rep from * to last 2 sts. P2.",
        f"Rep last 2 rows until work measures 2 ins, {last}",
    )
    assert last_counts(*lines, cast_on="82 (86)", sizes="S,M") == [86, 92]


def test_row_numbers_go_on_after_a_repeat() -> None:
    """Rows of an earlier block are known by number as long as the numbers go on."""
    rows = (*DEC_ROWS, "Rep rows 1 and 2 until 30 sts rem.", "Row 3: k.", "Row 4: as Row 2.")
    assert last_counts(*rows, "Rep rows 1-4 once more.") == [29]
    again = (*rows[:3], "Row 1: k.", "Row 3: as Row 2.")
    assert "no row 2" in refusal(*again)


def test_grafting_what_remains_leaves_no_stitch() -> None:
    """What is grafted within a line is live no more, if it is as many as are there."""
    assert last_counts("Next row: k. Break yarn, graft or BO rem 40 sts.") == [0]
    assert "5 are stated" in refusal("Next row: k. Break yarn, graft rem 5 sts.")


MITT = (
    "Rnd 1: N1: k2, pm, kfb, kfb, pm, k to end of needle; N2: knit. 42 sts.",
    "Rnd 2: N1: knit; N2: knit.",
    "Rnd 3: N1: k to m, sm, kfb, k to 1 st before m, kfb, sm, k to end; N2: knit. 44 sts.",
)


@pytest.mark.parametrize(
    ("line", "after"),
    [
        ("Rep rnds 2 and 3 until there are 14 sts between markers.", 52),
        ("Rnd 4: N1: knit; N2: k to last 3 sts, k2tog, k1. 43 sts", 43),
        ("Rnd 4: k to m, remove m, k6, remove m, k to end.", 44),
        ("Rnd 4: N1: ssk, k to end; N2: k to last 2 sts, k2tog. 42 sts", 42),
        ("Rnd 4: N1: ssk, k to last 2 sts, k2tog; N2: ssk, k to last 2 sts, k2tog. 40 sts", 40),
    ],
)
def test_markers_stay_where_they_are_on_several_needles(line: str, after: int) -> None:
    """Where the needles end is not known; what is before the first end is, and after the last."""
    assert last_counts(*MITT, line, head=ROUND) == [after]


def test_a_wrong_marker_on_several_needles_is_found() -> None:
    """The stitches between markers are counted, though nobody knows where the needles end."""
    line = "Rnd 4: k to m, remove m, k4, remove m, k to end."
    assert "comes only after 2 stitches more" in refusal(*MITT, line, head=ROUND)


EDGING = (
    "Row 1: sl1, k1, yo, k2tog, yo, k4 [9 sts].",
    "Row 2 and all even-numbered rows to 4: knit.",
    "Row 3: sl1, k2, yo, k2tog, yo, k4 [10 sts].",
    "Row 5: sl1, k to end.",
)


def test_rows_that_change_the_count_are_repeated_one_after_the_other() -> None:
    """Each row of an edging is compared with what the row before it leaves."""
    last = "Row 6: BO 2, k to end [8 sts]."
    again = "Rep Rows 1-6 until edging is long enough to go around."
    assert last_counts(*EDGING, last, again, cast_on="8") == [8]
    short = last.replace("BO 2", "BO 3").replace("8 sts", "7 sts")
    assert refusal(*EDGING, short, again, cast_on="8").startswith("1 stitch too few")


def test_rows_worked_alike_end_where_it_is_said() -> None:
    """Even rows "to 4" leave row 6 to its own words, or unwritten."""
    document = read((*EDGING, "Row 7: k."), "8")
    assert isinstance(document, PatternDocument)
    (verdict,) = document.check()
    assert "Row 6 is not written" in verdict.warnings[0].message
    assert document.course().last_row({}) == 6
