"""The drawn fabric: stitches of a row, which stand on which, and where they lie in the picture."""

from __future__ import annotations

import zlib
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import resources
from app.drawings.fabric import DrawnFabric, DrawnRow, DrawnStitch, FabricEdge, Seen, mirrored
from app.drawings.lay_out import ROW_HEIGHT, lay_out
from app.drawings.picture import Ink, Quad
from app.drawings.piece import cast_on_row, drawn, fabric_of
from app.drawings.sheet import MARGIN_Y, SHEET, TILE, Tile
from app.drawings.stitch_art import sheet_pixels
from app.pieces.pattern_cache import document_of, row_reader
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from engine.commands import RowsDone, Source
from engine.journal.memory import MemoryJournal
from engine.pattern import Course, PatternDocument
from engine.pattern.drawn_steps import Facing, Over, steps_of
from engine.pattern.hands import work
from engine.pattern.needle import Needle as LiveStitches
from engine.pattern.rows import row_of
from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from engine.pattern.notation import Item

PATTERNS = ("mug-sleeve", "bottle-sleeve", "lantern-sleeve", "crew-cap")


def course(pattern: str, size: str | None = None) -> Course:
    """Return the course of a pattern that comes with Walesong."""
    document = document_of(resources.text(f"shared/patterns/{pattern}.toml"))
    assert isinstance(document, PatternDocument)
    return document.course(size or (document.sizes[0] if document.sizes else None))


def faces_below(one: DrawnRow | None) -> tuple[Seen, ...] | None:
    """Return how the stitches of a row are seen, from left to right."""
    return None if one is None else tuple(stitch.seen for stitch in one.stitches)


def items_of(text: str) -> tuple[Item, ...]:
    """Return the items of a row in the usual abbreviations."""
    line = row_reader().read(f"Row 1: {text}")
    return row_of(line.phrases).items


def row(
    text: str, before: int, *, right_side: bool = True, below: DrawnRow | None = None
) -> DrawnRow:
    """Return a row in the usual abbreviations, drawn over so many stitches."""
    steps = steps_of(items_of(text), before)
    assert steps is not None, text
    return drawn(steps.steps, 1, faces_below(below), right_side=right_side, before=before)


def faces(one: DrawnRow) -> str:
    """Write a row as it is seen from left to right: v, - (purl bump), o (yarn over)."""
    signs = {Seen.KNIT: "v", Seen.PURL: "-", Seen.OVER: "o", Seen.PLAIN: "?"}
    return "".join(signs[stitch.seen] for stitch in one.stitches)


# --- single stitches -----------------------------------------------------------------------------


@pytest.mark.parametrize("pattern", PATTERNS)
def test_every_row_of_a_pattern_is_drawn_with_its_stitches(pattern: str) -> None:
    """Each row of the shipped patterns has as many drawn stitches as the pattern says it leaves."""
    plan = course(pattern)
    ended: dict[str, int] = {}
    below: DrawnRow | None = None
    for number in range(1, 60):
        place = plan.where(ended, number)
        if place.finished:
            break
        assert place.before is not None
        steps = steps_of(place.instruction.items, place.before)
        assert steps is not None, place.instruction
        assert steps.made(len(steps.steps)) == place.after
        right = str(place.side) != "wrong"
        below = drawn(
            steps.steps, number, faces_below(below), right_side=right, before=place.before
        )
        if place.open_loop is not None and place.row_in_section >= 12:
            ended[place.open_loop.id] = number


def test_rib_and_wrong_side_as_a_knitter_sees_them() -> None:
    """k2, p2 rib stands in columns from both sides; purl on the wrong side is knit on the right."""
    front = row("*k2, p2; rep from * to last 2 sts, k2", 10)
    back = row("*p2, k2; rep from * to last 2 sts, p2", 10, right_side=False)
    assert faces(front) == "vv--vv--vv"
    assert faces(back) == faces(front)
    assert faces(row("p to end", 5, right_side=False)) == "vvvvv"
    assert faces(row("k to end", 5, right_side=False)) == "-----"


def test_a_row_worked_as_it_faces_looks_like_the_one_below() -> None:
    """Stitches worked as they face keep the columns of the row below."""
    rib = row("*k1, p1; rep from * to end", 6)
    again = row("k the knits and p the purls", 6, right_side=False, below=rib)
    assert faces(again) == faces(rib) == "-v-v-v"


def test_right_side_rows_run_from_right_to_left() -> None:
    """The first stitch of a right-side row is the one at the right edge, on the wrong side left."""
    assert faces(row("p1, k to end", 4)) == "vvv-"
    assert faces(row("k1, p to end", 4, right_side=False)) == "-vvv"


@pytest.mark.parametrize(
    ("name", "in_front"),
    [("k2tog", 0), ("ssk", 1), ("skp", 1)],
)
def test_decreases_lean_as_the_trade_says(name: str, in_front: int) -> None:
    """k2tog leans to the right (its left stitch lies over), ssk and skp to the left."""
    (stitch,) = row(name, 2).stitches
    assert stitch.out_of == (in_front, 1 - in_front)


def test_purled_decreases_lean_on_the_right_side_too() -> None:
    """p2tog from the wrong side leans to the right on the right side, like k2tog."""
    (stitch,) = row("p2tog", 2, right_side=False).stitches
    assert stitch.out_of == (0, 1)


def test_a_centred_decrease_has_its_middle_in_front() -> None:
    """Of three worked into one, the middle one lies over the others."""
    (stitch,) = row("cdd", 3).stitches
    assert stitch.out_of[0] == 1
    assert set(stitch.out_of) == {0, 1, 2}


def test_increases_and_yarn_overs_come_from_somewhere() -> None:
    """Kfb makes two out of one; a yarn over comes out of none and is a hole."""
    made = row("k1, kfb, yo, k1", 3)
    assert [stitch.out_of for stitch in made.stitches] == [(0,), (), (1,), (1,), (2,)]
    assert made.stitches[1].seen is Seen.OVER


def test_what_cannot_be_told_apart_is_not_guessed() -> None:
    """A row with the wrong number of stitches, or unknown markers, has no single stitches."""
    items = items_of("*k2, p2; rep from * to end")
    assert steps_of(items, 9) is None
    assert steps_of(items_of("k to m, sm, k to end"), 10) is None
    assert steps_of(items_of("k5, turn, p3, turn, k to end"), 10) is None


def test_a_short_row_leaves_the_others_as_they_are() -> None:
    """The stitches after the turn, and before it on the way back, are drawn but not worked."""
    short = row("k5, turn", 8)
    assert [stitch.idle for stitch in short.stitches] == [True] * 3 + [False] * 5
    assert [stitch.out_of for stitch in short.stitches] == [(at,) for at in range(8)]
    after = work(LiveStitches((8,)), items_of("k5, turn"))
    assert isinstance(after, LiveStitches)
    back = steps_of(items_of("p to end"), after)
    assert back is not None
    assert [step.idle for step in back.steps] == [True] * 3 + [False] * 5


def test_markers_tell_where_the_shaping_is() -> None:
    """With the needle's markers a row "to 2 sts before the marker" is drawn stitch by stitch."""
    needle = LiveStitches((4, 6), ("",))
    steps = steps_of(items_of("k to 2 sts before m, k2tog, sm, k to end"), needle)
    assert steps is not None
    assert [step.name for step in steps.steps] == ["k", "k", "k2tog", *["k"] * 6]


@pytest.mark.parametrize(
    ("name", "width", "out_of", "front"),
    [
        # Seen from the right side, from left to right. A left cross carries the right-hand strand
        # over to the left; a right cross carries the left-hand strand over to the right.
        ("c4f", 4, [2, 3, 0, 1], "++--"),
        ("c4b", 4, [2, 3, 0, 1], "--++"),
        ("2/1 lpc", 3, [1, 2, 0], "++-"),
        ("2/1 rpc", 3, [2, 0, 1], "-++"),
        ("rt", 2, [1, 0], "-+"),
        ("lt", 2, [1, 0], "+-"),
    ],
)
def test_cables_cross(name: str, width: int, out_of: list[int], front: str) -> None:
    """Every stitch of a crossing knows where it came from and whether it lies in front."""
    made = row(name, width)
    assert [stitch.out_of for stitch in made.stitches] == [(column,) for column in out_of]
    assert "".join("+" if stitch.front else "-" for stitch in made.stitches) == front
    assert all(stitch.crosses for stitch in made.stitches)


def test_of_a_purl_cross_the_strand_behind_is_purled() -> None:
    """The knit strand runs over a background of purl."""
    assert faces(row("2/1 lpc", 3)) == "vv-"
    assert faces(row("2/1 rpc", 3)) == "-vv"


def head(quad: Quad) -> float:
    """Return where the head of a drawn stitch is; its tile reaches a margin further."""
    foot, top = (sum(quad.corners[at : at + 4 : 2]) / 2 for at in (0, 4))
    return foot + (top - foot) * (1 - MARGIN_Y)


def test_a_crossing_lies_over_its_own_place_with_the_front_strand_last() -> None:
    """A row with a cable is as wide as before, and what lies in front is drawn last."""
    crossed = row("k2, c4f, k2", 8)
    picture = lay_out(DrawnFabric((plain(1, 8), crossed)))
    strip = picture.strips[-1][0]
    legs = [quad for quad in strip.quads if quad.tile is Tile.KNIT]
    assert sorted(round(head(quad), 6) for quad in legs) == [at - 3.5 for at in range(8)]
    lean = [quad.corners[6] - quad.corners[0] for quad in legs[-2:]]
    assert all(one < -2 for one in lean), "the last two drawn run to the left"


def test_colours_go_on_until_another_is_named() -> None:
    """A stitch has the letter of its yarn; a row that names none goes on with the one in hand."""
    first = row("k2 A, k2 B", 4)
    assert [stitch.colour for stitch in first.stitches] == ["b", "b", "a", "a"]
    fabric = DrawnFabric((first,))
    assert fabric.colours == ("a", "b")
    assert {strip.colour for strip, _ in lay_out(fabric).strips} == {"a", "b"}


def test_knit_front_and_back_shows_its_bump() -> None:
    """Of the two stitches made of one the second has a bar like a purl bump."""
    assert faces(row("kfb", 1)) == "-v"


def test_steps_know_what_lies_over() -> None:
    """The sorts of decreases differ in which loop lies over the others."""
    overs = {}
    for name, takes in (("k2tog", 2), ("ssk", 2), ("cdd", 3)):
        steps = steps_of(items_of(name), takes)
        assert steps is not None
        overs[name] = steps.steps[0].over
        assert steps.steps[0].leaves == (Facing.KNIT,)
    assert overs == {"k2tog": Over.LAST, "ssk": Over.FIRST, "cdd": Over.MIDDLE}


# --- the picture ---------------------------------------------------------------------------------

stitch_counts = st.integers(2, 40)


def plain(number: int, count: int, *, leftwards: bool = True) -> DrawnRow:
    """Return a row of knit stitches straight above each other."""
    return DrawnRow(number, tuple(DrawnStitch(Seen.KNIT, (at,)) for at in range(count)), leftwards)


@given(stitch_counts, st.integers(0, 45), st.booleans())
def test_every_stitch_is_either_done_worked_or_planned(
    count: int,
    worked: int,
    leftwards: bool,  # noqa: FBT001 (drawn by dice)
) -> None:
    """Of the working row each stitch is drawn once; each loop below is on a needle or used."""
    fabric = DrawnFabric((plain(1, count),), plain(2, count, leftwards=leftwards), worked=worked)
    picture = lay_out(fabric)
    inks = [quad.ink for quad in picture.quads if quad.tile is Tile.KNIT]
    assert inks.count(Ink.WOOL) == count
    assert inks.count(Ink.FRESH) == min(worked, count)
    assert inks.count(Ink.PLANNED) == count - min(worked, count)
    assert len(picture.loops) == count
    assert all(picture.left <= mark.x <= picture.right for mark in picture.marks)


@given(stitch_counts, st.data())
def test_the_worked_stitches_are_where_the_hand_has_been(count: int, data: st.DataObject) -> None:
    """On a right-side row what is worked lies at the right, on a wrong-side row at the left."""
    worked = data.draw(st.integers(1, count - 1))
    for leftwards in (True, False):
        fabric = DrawnFabric(
            (plain(1, count),), plain(2, count, leftwards=leftwards), worked=worked
        )
        quads = [quad for quad in lay_out(fabric).quads if quad.tile is Tile.KNIT]
        fresh = [quad.corners[0] for quad in quads if quad.ink is Ink.FRESH]
        planned = [quad.corners[0] for quad in quads if quad.ink is Ink.PLANNED]
        if leftwards:
            assert min(fresh) > max(planned)
        else:
            assert max(fresh) < min(planned)


@given(stitch_counts)
def test_plain_columns_stand_straight(count: int) -> None:
    """Without shaping every stitch stands exactly above the one it came out of."""
    picture = lay_out(DrawnFabric((plain(1, count), plain(2, count), plain(3, count))))
    knits = [quad for quad in picture.quads if quad.tile is Tile.KNIT]
    xs = sorted({round(quad.corners[0], 6) for quad in knits})
    assert len(xs) == count
    assert all(quad.corners[0] == pytest.approx(quad.corners[6]) for quad in knits)


def test_a_decrease_leans_towards_its_neighbour() -> None:
    """A stitch out of two has a foot in each, the one in front drawn last."""
    two = DrawnRow(2, (DrawnStitch(Seen.KNIT, (0, 1)), DrawnStitch(Seen.KNIT, (2,))))
    picture = lay_out(DrawnFabric((plain(1, 3), two)))
    feet = [q.corners[0] for q in picture.quads if q.tile is Tile.KNIT and q.corners[1] > -1.1]
    assert len(feet) == 3
    assert feet[0] > feet[1]  # drawn last, its foot is the left one: it leans to the right


@given(st.lists(st.integers(-2, 2), min_size=1, max_size=12), st.integers(8, 30))
def test_left_handed_is_the_mirror_image(changes: list[int], count: int) -> None:
    """For a left-hander every stitch is drawn at the mirrored place; twice mirrored is the same."""
    rows, below = [plain(1, count)], count
    for number, change in enumerate(changes, 2):
        after = max(below + change, 2)
        stitches = tuple(DrawnStitch(Seen.KNIT, (min(at, below - 1),)) for at in range(after))
        rows.append(DrawnRow(number, stitches, number % 2 == 1))
        below = after
    fabric = DrawnFabric(tuple(rows))
    other = mirrored(fabric)
    assert mirrored(other) == fabric
    straight = sorted(round(quad.corners[0] + quad.corners[2], 6) for quad in lay_out(fabric).quads)
    turned = sorted(round(-quad.corners[0] - quad.corners[2], 6) for quad in lay_out(other).quads)
    assert straight == pytest.approx(turned, abs=1e-5)


def test_rows_hang_below_the_needle() -> None:
    """The last row done ends at the needle, earlier ones lie below it, one row height each."""
    picture = lay_out(DrawnFabric((plain(1, 4), plain(2, 4))))
    marks = {mark.number: mark.y for mark in picture.marks}
    assert marks[2] == pytest.approx(-0.5 * ROW_HEIGHT)
    assert marks[1] == pytest.approx(-1.5 * ROW_HEIGHT)


# --- the fabric of a piece -----------------------------------------------------------------------


def test_a_piece_hangs_from_its_cast_on() -> None:
    """The picture of a fresh piece is its cast-on edge and the first row to be worked."""
    now = Needle("mug-sleeve").situation()
    fabric = fabric_of(now.state, now.course)
    assert [one.number for one in fabric.done] == [0]
    assert all(stitch.edge is FabricEdge.CAST_ON for stitch in fabric.done[0].stitches)
    assert fabric.working is not None
    assert fabric.working.number == 1
    assert len(fabric.working.stitches) == 50


def test_a_piece_grows_row_by_row() -> None:
    """Three rows done are three drawn rows, and the next one is being worked."""
    needle = Needle("mug-sleeve").say("three rows done")
    now = needle.situation()
    fabric = fabric_of(now.state, now.course)
    assert [one.number for one in fabric.done] == [0, 1, 2, 3]
    assert fabric.working is not None
    assert fabric.working.leftwards is False  # row 4 is a wrong-side row


def test_stopping_in_the_row_shows_how_far_it_is() -> None:
    """After "stopping after 23 stitches", 23 stitches of the row are on the right needle."""
    needle = Needle("mug-sleeve").say("row done", "stopping after 23 stitches")
    now = needle.situation()
    assert fabric_of(now.state, now.course).worked == 23


def test_the_crown_is_hinted_at_before_it_comes() -> None:
    """The next round with a decrease is drawn above the working one."""
    needle = Needle("crew-cap", "S").say("12 rounds done", "this part is done", "11 rounds done")
    needle.say("this part is done", "row done")
    now = needle.situation()
    fabric = fabric_of(now.state, now.course)
    assert fabric.working is not None
    assert not fabric.working.changes_count
    assert fabric.hint is None or fabric.hint.number > fabric.working.number


def test_a_very_wide_unknown_row_is_still_drawn() -> None:
    """A cast-on of absurd width neither fails nor takes more than it can show."""
    assert len(cast_on_row(10**9).stitches) <= 2000


def test_wide_rows_of_which_only_the_count_is_known_share_their_stitches() -> None:
    """Forty rows of two thousand stitches are made once, not at every answer and for every row."""
    talk = Conversation.begin(MemoryJournal(), NewPiece("blanket", cast_on=2500), SetClock())
    for _ in range(45):
        talk.hear([RowsDone(1)], Source.KEY)
    shown = [fabric_of(talk.state, talk.course) for _ in range(2)]
    rows = [row for one in shown for row in (*one.done, one.working) if row is not None]
    assert len(rows) > 80
    assert len({id(row.stitches) for row in rows}) == 1


def test_the_sheet_is_the_drawn_one() -> None:
    """The picture file holds exactly the stitches that the drawing module draws."""
    pixels = sheet_pixels()
    kept = resources.data("assets/drawn/stitches.png")
    length = int.from_bytes(kept[33:37], "big")
    assert kept[37:41] == b"IDAT"
    lines = np.frombuffer(zlib.decompress(kept[41 : 41 + length]), dtype=np.uint8)
    lines = lines.reshape(SHEET.height, SHEET.width * 4 + 1)
    assert not lines[:, 0].any()  # no line is filtered, so the bytes are the pixels
    difference = np.abs(lines[:, 1:].astype(int) - pixels.reshape(SHEET.height, -1).astype(int))
    assert difference.max() <= 2  # another processor may round the last bit differently
    assert SHEET.width == TILE * 8
