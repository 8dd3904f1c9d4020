"""Every drawn pose by what it shows: a stitch move by move, or a topic that a lesson shows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final, TypeAlias

from app.drawings.hands.edges import picked_up, woven_in
from app.drawings.hands.moving import (
    bound_off,
    laid_over,
    lifted_over,
    slip_in,
    slipped,
    two_worked,
)
from app.drawings.hands.rescues import (
    edge_pulled,
    ladder,
    split_yarn,
    stray_over,
    taken_back,
    turned_stitch,
)
from app.drawings.hands.starting import (
    held,
    knot_loop,
    knot_on_needle,
    knot_ring,
    long_tail,
    put_back,
    turned_round,
)
from app.drawings.hands.working import (
    BAR_LEFT,
    BAR_RIGHT,
    CASTING_ON,
    KNIT,
    KNIT_TWO,
    PURL,
    PURL_TWO,
    SLIPPED_TWO,
    THROUGH_BACK,
    Taken,
    brought_through,
    laid_round,
    lifted,
    put_in,
    ready,
    slid_off,
)
from app.lessons.topics import Topic
from app.session.settings import YarnHand
from engine.pattern.notation import BindOff, CastOn, PickUp, TurnKind, TurnWork, Work

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.drawings.hands.strands import Pose
    from engine.pattern.notation import Item

    Drawing: TypeAlias = Callable[[YarnHand], Pose]
    Drawings: TypeAlias = tuple[Drawing, ...]


def _moves(taken: Taken) -> Drawings:
    """Return in, round, through, off."""
    every = (put_in, laid_round, brought_through, slid_off)
    return tuple(partial(one, taken) for one in every)


def _same(pose: Callable[[], Pose]) -> Drawing:
    """Return what is drawn alike for both holds."""
    return lambda _: pose()


_KNITWISE: Final = partial(slip_in, knitwise=True)
_PURLWISE: Final = partial(slip_in, knitwise=False)
_TWO_SLIPPED: Final = partial(slipped, knitwise=True, two=True)
_KNIT: Final[Drawings] = (partial(ready, KNIT), *_moves(KNIT))
_PURL: Final[Drawings] = (partial(ready, PURL), *_moves(PURL))
_SLIP_SLIP_KNIT: Final[Drawings] = (_KNITWISE, _TWO_SLIPPED, *_moves(SLIPPED_TWO))
_MAKE_LEFT: Final[Drawings] = (partial(lifted, BAR_LEFT), *_moves(BAR_LEFT))
_MAKE_RIGHT: Final[Drawings] = (partial(lifted, BAR_RIGHT), *_moves(BAR_RIGHT))
_BIND_OFF: Final[Drawings] = (two_worked, lifted_over, bound_off)
_CAST_ON: Final[Drawings] = (
    _same(knot_on_needle),
    *_moves(CASTING_ON)[:3],
    put_back,
)
_PICK_UP: Final[Drawings] = tuple(partial(picked_up, step) for step in range(3))

_STITCHES: Final[dict[tuple[str, tuple[str, ...]], Drawings]] = {
    ("k", ()): _KNIT,
    ("k", ("tbl",)): (partial(ready, KNIT), *_moves(THROUGH_BACK)),
    ("p", ()): _PURL,
    ("sl", ()): (_PURLWISE,),
    ("sl", ("pwise",)): (_PURLWISE,),
    ("sl", ("kwise",)): (_KNITWISE,),
    ("k2tog", ()): _moves(KNIT_TWO),
    ("k3tog", ()): _moves(Taken(3)),
    ("p2tog", ()): (partial(ready, PURL_TWO), *_moves(PURL_TWO)),
    ("dec", ()): _moves(KNIT_TWO),
    ("ssk", ()): _SLIP_SLIP_KNIT,
    ("yo", ()): (laid_over,),
    ("m1", ()): _MAKE_LEFT,
    ("m1l", ()): _MAKE_LEFT,
    ("m1r", ()): _MAKE_RIGHT,
}

TOPICS: Final[dict[Topic, Drawings]] = {
    Topic.SLIP_KNOT: tuple(map(_same, (knot_ring, knot_loop, knot_on_needle))),
    Topic.LONG_TAIL: tuple(_same(partial(long_tail, step)) for step in range(4)),
    Topic.KNITTED_CAST_ON: _CAST_ON,
    Topic.HOLD: (held,),
    Topic.KNIT: _KNIT,
    Topic.PURL: _PURL,
    Topic.TURN: (turned_round,),
    Topic.SLIP: (_PURLWISE, partial(slipped, knitwise=False)),
    Topic.KNIT_TWO_TOGETHER: _moves(KNIT_TWO),
    Topic.SLIP_SLIP_KNIT: _SLIP_SLIP_KNIT,
    Topic.YARN_OVER: (laid_over,),
    Topic.MAKE_ONE: _MAKE_LEFT,
    Topic.BIND_OFF: _BIND_OFF,
    Topic.PICK_UP: _PICK_UP,
    Topic.WEAVE_IN: tuple(_same(partial(woven_in, step)) for step in range(2)),
    Topic.DROPPED: tuple(_same(partial(ladder, step)) for step in range(4)),
    Topic.STRAY_OVER: tuple(_same(partial(stray_over, gone=gone)) for gone in (False, True)),
    Topic.EDGE_PULLED: tuple(_same(partial(edge_pulled, step)) for step in range(3)),
    Topic.TWISTED: tuple(_same(partial(turned_stitch, mended=on)) for on in (False, True)),
    Topic.SPLIT: tuple(_same(partial(split_yarn, mended=on)) for on in (False, True)),
    Topic.UNPICK: tuple(_same(partial(taken_back, step)) for step in range(2)),
}


@dataclass(frozen=True, slots=True)
class HandsShown:
    """Which picture of the hands is shown: a move of a stitch or a step of a topic, from 0."""

    about: Item | Topic
    at: int = 0

    def pose(self, hand: YarnHand) -> Pose | None:
        """Return the picture for the hand that leads the yarn; None if it is not drawn."""
        drawings = TOPICS[self.about] if isinstance(self.about, Topic) else drawn_moves(self.about)
        return drawings[self.at](hand) if 0 <= self.at < len(drawings) else None

    @property
    def drawn(self) -> bool:
        """Whether there is a picture of it."""
        return self.pose(YarnHand.RIGHT) is not None


def drawn_moves(item: Item) -> Drawings:
    """Return one drawing for every move of a stitch, in their order; () if it is not drawn."""
    match item:
        case Work():
            return _STITCHES.get((item.stitch.name, item.how), ())
        case BindOff(amount=None):
            return (*_BIND_OFF, bound_off)
        case BindOff():
            return _BIND_OFF
        case CastOn():
            return (*_CAST_ON, put_back)
        case PickUp():
            return (*_PICK_UP, _PICK_UP[-1])
        case TurnWork(kind=TurnKind.PLAIN):
            return (turned_round,)
        case _:
            return ()
