"""Showing how: what comes next, a stitch asked for, and a row from the stitch she stopped at."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.commands import Technique
from engine.pattern import Instruction
from engine.pattern.drawn_steps import steps_of
from engine.pattern.notation import Along, Item, Work
from engine.pattern.rest_of_row import rest_of_row
from engine.pattern.stitches import STITCHES, together
from engine.show_how import shown


@pytest.mark.parametrize("technique", list(Technique))
def test_every_technique_is_one_step(technique: Technique) -> None:
    """What can be asked for is one thing of a row, and no two of them are the same."""
    assert len(shown(technique).items) == 1
    others = [shown(other) for other in Technique if other is not technique]
    assert shown(technique) not in others


K = STITCHES["k"]
SSK = STITCHES["ssk"]
REPEAT = Along((Work(K, (2,)), Work(together("k", 2))), star=True)


@pytest.mark.parametrize(
    ("items", "before", "made", "rest"),
    [
        # k3, ssk, k3 over 8: after 2 stitches one is left of the first three.
        ((Work(K, (3,)), Work(SSK), Work(K, (3,))), 8, 2, "k1, ssk, k3"),
        ((Work(K, (3,)), Work(SSK), Work(K, (3,))), 8, 4, "k3"),
        ((Along((Work(K),)),), 20, 7, "k to end"),
        # (k2, k2tog) repeated: after 4 stitches made the second time is one stitch in.
        ((REPEAT,), 12, 4, "k1, k2tog, *k2, k2tog; rep from * to end"),
    ],
)  # fmt: skip
def test_a_row_goes_on_where_she_stopped(
    items: tuple[Item, ...], before: int, made: int, rest: str
) -> None:
    """What is left of a row begins with the stitch after those on the right needle."""
    assert str(rest_of_row(Instruction(items), before, made)) == rest


STITCH = st.sampled_from([K, STITCHES["p"], SSK, STITCHES["yo"], together("k", 2)])
ITEM = st.builds(lambda stitch, count: Work(stitch, (count,)), STITCH, st.integers(1, 4))


@given(st.lists(ITEM, min_size=1, max_size=6), st.data())
def test_worked_and_left_make_the_whole_row(items: list[Item], data: st.DataObject) -> None:
    """The stitches already made and those that what is left makes are all that the row makes."""
    before = sum(
        item.stitch.takes * (item.amount[0] or 0) for item in items if isinstance(item, Work)
    )
    whole = steps_of(tuple(items), before)
    assert whole is not None
    made = data.draw(st.integers(0, max(whole.made(len(whole.steps)) - 1, 0)))
    rest = rest_of_row(Instruction(tuple(items)), before, made)
    names = [step.name for step in whole.steps]
    left = steps_of(rest.items, _takes(rest.items))
    assert left is not None
    assert [step.name for step in left.steps] == names[len(names) - len(left.steps) :]
    assert whole.made(len(whole.steps)) - left.made(len(left.steps)) == made


def _takes(items: tuple[Item, ...]) -> int:
    return sum(
        item.stitch.takes * (item.amount[0] or 0) for item in items if isinstance(item, Work)
    )


def test_a_row_that_cannot_be_told_apart_is_kept_whole() -> None:
    """Nothing is guessed where the stitches of a row are not known."""
    text = Instruction(text="work as the chart says")
    assert rest_of_row(text, 20, 5) is text
    known = Instruction((Along((Work(K),)),))
    assert rest_of_row(known, None, 5) is known
    assert rest_of_row(known, 20, 0) is known


def test_a_long_row_is_said_in_bits() -> None:
    """Nobody keeps twelve steps in mind: each bit has a few, and together they are the row."""
    lace = tuple(Work(STITCHES[name]) for name in ["k", "yo", "ssk"] * 4)
    long = Instruction(lace)
    assert long.long
    assert [len(bit.items) for bit in long.bits] == [4, 4, 4]
    assert tuple(item for bit in long.bits for item in bit.items) == lace
    short = Instruction(lace[:6])
    assert not short.long
    assert short.bits == (short,)
