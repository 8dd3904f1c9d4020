"""The yarn is followed through every drawing: over, under, which leg, and what comes of it."""

from __future__ import annotations

import itertools

import pytest

from app.drawings.fabric import Seen
from app.drawings.hands.album import TOPICS, HandsShown, drawn_moves
from app.drawings.hands.between import between
from app.drawings.hands.painting import BOTTOM, LEFT, RIGHT, TOP, painted
from app.drawings.hands.strands import Part, Pose, Strand
from app.drawings.hands.working import BAR_LEFT, BAR_RIGHT, KNIT, PURL, laid_round, put_in
from app.drawings.shown import stitch_drawn
from app.lessons.topics import Topic
from app.session.settings import YarnHand
from app.wording import reply_wording
from engine.commands import Technique
from engine.pattern import Instruction
from engine.pattern.notation import Item, TurnKind, TurnWork, Work
from engine.pattern.stitches import STITCHES, together
from engine.show_how import shown
from tests.app.followed_yarn import Followed

DRAWN = (
    *("k", "p", "ssk", "m1l", "m1r"),
    *("k2tog", "p2tog", "k3tog"),
)
THROUGH = {"knit": "uoou", "purl": "ouuo"}
"""How the new loop's yarn crosses a loop that it came through: its feet, its legs."""


def stitch(name: str, *how: str) -> Work:
    """Return one stitch as it stands in a row."""
    if name.endswith("tog"):
        return Work(together(name[0], int(name[1])))
    return Work(STITCHES[name], how=how)


def last(item: Item, hand: YarnHand = YarnHand.RIGHT) -> Pose:
    """Return the last picture of a stitch."""
    return drawn_moves(item)[-1](hand)


def every_pose() -> list[tuple[str, Pose]]:
    """Return every picture there is, for both hands that may lead the yarn."""
    stitches = [stitch(name) for name in DRAWN] + [stitch("k", "tbl")]
    named = [(str(topic), drawings) for topic, drawings in TOPICS.items()]
    named += [(one.stitch.name, drawn_moves(one)) for one in stitches]
    return [
        (f"{name} {at} {hand}", draw(hand))
        for name, drawings in named
        for at, draw in enumerate(drawings)
        for hand in YarnHand
    ]


def test_it_is_plain_everywhere_which_strand_lies_over() -> None:
    """Wherever yarn or a needle crosses another one that is worked, their levels differ."""
    doubtful = []
    for name, pose in every_pose():
        ends = [end[:2] for one in pose.strands for end in (one.points[0], one.points[-1])]
        for strand, met in Followed(pose).crossings.items():
            for one in met:
                parts = {pose.strands[strand].part, pose.strands[one.other].part}
                names = {pose.strands[strand].name, pose.strands[one.other].name}
                joined = any(abs(one.x - x) + abs(one.y - y) < 0.2 for x, y in ends)
                if one.same_level and not (Part.FABRIC in parts or joined or "ply" in names):
                    doubtful.append((name, names, round(one.x, 2), round(one.y, 2)))
    assert doubtful == []


@pytest.mark.parametrize("hand", list(YarnHand))
@pytest.mark.parametrize("name", DRAWN)
def test_the_drawn_loop_is_the_stitch_that_the_engine_makes(name: str, hand: YarnHand) -> None:
    """It comes through the stitches that the engine says, to their side, the same one in front."""
    item = stitch(name)
    fabric = stitch_drawn(item, made=True)
    assert fabric is not None
    assert fabric.working is not None
    made = fabric.working.stitches[3]
    followed = Followed(last(item, hand))
    loops = [one.name for one in followed.pose.strands if one.name.startswith("next")]
    way = THROUGH[made.seen.value]
    if not made.out_of:  # made of the strand between two stitches, twisted
        assert loops == ["next 1"]
        assert len(followed.pattern("next 1", "next 1")) == 2
    else:
        assert len(loops) == len(made.out_of)
    assert [followed.pattern("row", loop) for loop in loops] == [way] * len(loops)
    if len(made.out_of) == 2:
        first_in_front = made.out_of[0] > made.out_of[1]  # columns run from left to right
        if made.seen is Seen.PURL:  # told as seen from the right side, worked from the other one
            first_in_front = not first_in_front
        assert set(followed.pattern("next 1", "next 2")) == {"o" if first_in_front else "u"}


def test_a_stitch_knitted_through_its_back_is_twisted() -> None:
    """Its old loop crosses itself; the one knitted by the front does not."""
    twisted = Followed(last(stitch("k", "tbl")))
    assert len(twisted.pattern("next 1", "next 1")) == 2
    assert twisted.pattern("row", "next 1") == THROUGH["knit"]
    assert not Followed(last(stitch("k"))).pattern("next 1", "next 1")


def test_made_stitches_lean_their_way() -> None:
    """Of the crossed strand that part lies in front that leans as the stitch is named."""
    left, right = (
        Followed(last(stitch(name))).pattern("next 1", "next 1") for name in ("m1l", "m1r")
    )
    assert (left, right) == ("ou", "uo")
    assert not BAR_LEFT.turned
    assert BAR_RIGHT.turned


def test_a_yarn_over_comes_out_of_no_stitch() -> None:
    """It lies over the needle from the front to the back, and through no loop."""
    fabric = stitch_drawn(stitch("yo"), made=True)
    assert fabric is not None
    assert fabric.working is not None
    assert fabric.working.stitches[3].out_of == ()
    followed = Followed(last(stitch("yo")))
    over_needle = followed.met("row", "free")[4:6]
    assert [one.over for one in over_needle] == [True, False]
    to_hand = [
        one
        for one in followed.crossings[followed.number("row")]
        if one.along > over_needle[0].along
    ]
    parts = {followed.pose.strands[one.other].part for one in to_hand}
    assert Part.FABRIC not in parts


def test_the_needle_goes_in_where_the_words_say() -> None:
    """Knitwise over the leg in front and behind the full needle; purlwise under it and before."""
    knit, purl = Followed(put_in(KNIT, YarnHand.RIGHT)), Followed(put_in(PURL, YarnHand.RIGHT))
    assert (knit.pattern("free", "next 1"), knit.pattern("free", "full")) == ("ou", "u")
    assert (purl.pattern("free", "next 1"), purl.pattern("free", "full")) == ("uo", "o")


@pytest.mark.parametrize("hand", list(YarnHand))
def test_the_yarn_goes_round_the_tip_in_front_and_over(hand: YarnHand) -> None:
    """It passes before the tip, between both needles in knitting, before both in purling."""
    knit, purl = Followed(laid_round(KNIT, hand)), Followed(laid_round(PURL, hand))
    assert [one.over for one in knit.met("row", "free")][4:5] == [True]
    assert set(knit.pattern("row", "full")) == {"u"}
    assert [one.over for one in purl.met("row", "free")][4:6] == [True, False]
    assert set(purl.pattern("row", "full")) == {"o"}


def test_slipping_turns_a_stitch_only_if_it_is_slipped_as_if_to_knit() -> None:
    """The leg in front stays in front, or comes to lie behind; no yarn comes through."""
    moved = Followed(TOPICS[Topic.SLIP][1](YarnHand.RIGHT))
    turned = Followed(TOPICS[Topic.SLIP_SLIP_KNIT][1](YarnHand.RIGHT))
    assert moved.pattern("next 1", "free") == "ou"
    assert turned.pattern("next 1", "free") == "uouo"
    assert set(moved.pattern("row", "next 1")) <= {"u"}


def test_every_stitch_on_a_needle_has_its_nearer_leg_in_front() -> None:
    """So they lie in knitting of every kind, but for the one that is shown turned."""
    wrong, mended = (Followed(draw(YarnHand.RIGHT)) for draw in TOPICS[Topic.TWISTED])
    assert (wrong.pattern("next 1", "full"), mended.pattern("next 1", "full")) == ("uo", "ou")
    assert wrong.pattern("old left", "full") == "ou" * 3
    assert wrong.pattern("row", "free")[:4] == "ouou"


def test_a_slip_knot_is_one() -> None:
    """Pulled at the needle it holds: the ring lies around both strands of the loop."""
    knot = Followed(TOPICS[Topic.SLIP_KNOT][1](YarnHand.RIGHT))
    assert knot.pattern("row", "row") == "uouuoouoou"
    on_needle = Followed(TOPICS[Topic.SLIP_KNOT][2](YarnHand.RIGHT))
    assert on_needle.pattern("row", "full") == "ou"


def test_a_dropped_stitch_climbs_rung_by_rung() -> None:
    """Each rung is drawn through the loop below it from behind, as a knit stitch is."""
    first, up = (Followed(TOPICS[Topic.DROPPED][at](YarnHand.RIGHT)) for at in (0, 3))
    assert first.pattern("rung 1", "dropped") == "uu"  # it lies behind, and through nothing
    assert up.pattern("rung 1", "dropped") == THROUGH["knit"]
    assert up.pattern("rung 2", "rung 1") == THROUGH["knit"]
    assert up.pattern("rung 2", "full") == "ou"


def test_an_edge_stitch_pulled_up_looks_like_two() -> None:
    """Two legs of one stitch lie before the needle; with the yarn below it one does."""
    pulled, mended = (Followed(TOPICS[Topic.EDGE_PULLED][at](YarnHand.RIGHT)) for at in (0, 2))
    assert pulled.pattern("edge", "full").count("o") == 2
    assert mended.pattern("edge", "full").count("o") == 1


def test_a_stray_loop_comes_out_of_no_stitch() -> None:
    """It lies over the needle, but it crosses no loop of the row below; gone, it is a strand."""
    there, gone = (Followed(draw(YarnHand.RIGHT)) for draw in TOPICS[Topic.STRAY_OVER])
    assert there.pattern("stray", "full") == "ou"
    assert there.pattern("stray", "below") == ""
    assert gone.pattern("stray", "full") == ""


def test_binding_off_leaves_one_stitch_of_two() -> None:
    """Two loops are on the free needle, then one, and the other lies around its foot."""
    two, lifting, one = (Followed(draw(YarnHand.RIGHT)) for draw in TOPICS[Topic.BIND_OFF])
    assert two.pattern("row", "free").startswith("ouou")
    assert one.pattern("row", "free").startswith("ou")
    assert len(one.pattern("row", "free")) < len(two.pattern("row", "free"))
    assert "ou" in lifting.pattern("row", "full")


def test_a_new_stitch_of_a_cast_on_lies_on_the_full_needle() -> None:
    """Its leg nearer to the tip in front, as the others."""
    put_on = Followed(TOPICS[Topic.KNITTED_CAST_ON][-1](YarnHand.RIGHT))
    assert put_on.pattern("row", "full")[:2] == "ou"


def test_left_handed_pictures_are_the_mirror() -> None:
    """What lies over stays over; what runs left runs right."""
    for name, pose in every_pose():
        mirrored = pose.mirrored()
        assert mirrored.mirrored() == pose, name
        assert [one.level for layer in painted(mirrored) for one in layer] == [
            one.level for layer in painted(pose) for one in layer
        ], name


def test_nothing_is_painted_beyond_the_picture() -> None:
    """Every line ends at its edge, so that nothing lies over the words beside it."""
    for name, pose in every_pose():
        points = [point for layer in painted(pose) for one in layer for point in one.line]
        assert all(LEFT <= x <= RIGHT and BOTTOM <= y <= TOP for x, y in points), name


def test_every_move_that_is_told_has_its_own_picture() -> None:
    """As many pictures as moves, each another one: no sentence stands beside an old picture."""
    items = [shown(technique).items[0] for technique in Technique]
    items += [stitch(name) for name in DRAWN] + [stitch("k", "tbl"), TurnWork(TurnKind.PLAIN)]
    hands = reply_wording().hands
    assert hands is not None
    drawn = [item for item in items if drawn_moves(item)]
    assert len(drawn) >= 15
    for item in drawn:
        moves = [one.move for one in hands.told_of(Instruction((item,))) if one.move >= 0]
        assert moves == list(range(len(drawn_moves(item)))), item
        poses = [draw(YarnHand.RIGHT) for draw in drawn_moves(item)]
        again = sum(one == two for one, two in itertools.pairwise(poses))
        assert again <= 1, item  # "go on" shows the last one once more


def test_what_is_not_drawn_says_so() -> None:
    """A stitch without drawings has no picture at any move, and asking for one fails in nothing."""
    assert not HandsShown(stitch("mb")).drawn
    assert not HandsShown(stitch("k"), 99).drawn
    assert HandsShown(Topic.HOLD).drawn


@pytest.mark.parametrize("topic", Topic)
def test_hands_move_from_one_picture_to_the_next(topic: Topic) -> None:
    """At both ends it is the picture itself; between them strands are on their way."""
    drawn = [draw(YarnHand.RIGHT) for draw in TOPICS[topic]]
    moved: list[Strand] = []
    for before, after in itertools.pairwise(drawn):
        assert between(before, after, 0) == before
        assert between(before, after, 1) == after
        moving = between(before, after, 0.75)
        assert {one.part for one in moving.strands} == {
            one.part for one in after.strands if one.part is not Part.ARROW
        }
        moved += [one for one in moving.strands if one not in after.strands]
        for near in (0.001, 0.999):
            close, end = between(before, after, near), before if near < 0.5 else after
            still = [one for one in end.strands if one.part is not Part.ARROW]
            for one, other in zip(close.strands, still, strict=True):
                assert one.points[0][:2] == pytest.approx(other.points[0][:2], abs=0.01)
                assert one.points[-1][:2] == pytest.approx(other.points[-1][:2], abs=0.01)
    assert moved or len(drawn) == 1


def test_from_behind_what_was_over_is_under() -> None:
    """Left is right and front is behind; twice from behind is the picture itself."""
    pose = TOPICS[Topic.KNIT][2](YarnHand.RIGHT)
    behind = pose.from_behind()
    assert behind.from_behind() == pose
    for one, other in zip(pose.strands, behind.strands, strict=True):
        assert [(-x, y, -level) for x, y, level in one.points] == list(other.points)
