"""Rows are said in whole words, in the order in which they are worked."""

from __future__ import annotations

import re

import pytest

from app import resources
from engine.pattern.instruction import Instruction
from engine.pattern.notation import (
    Along,
    BindOff,
    CastOn,
    Group,
    Hold,
    HoldWhich,
    InStitch,
    Item,
    JoinRound,
    Marker,
    MarkerMove,
    PickUp,
    Remark,
    StopAt,
    StopWork,
    TakeUp,
    TurnKind,
    TurnWork,
    Work,
)
from engine.pattern.stitches import STITCHES, Kind, Stitch, cable, together
from speech.words.phrases import read_phrases
from speech.words.wording import read_wording

ROWS = read_wording(
    resources.text("shared/phrases/replies.en.toml"),
    read_phrases(resources.text("shared/phrases/en.toml")).numbers,
).rows

K, P, SL, SSK, YO = (STITCHES[name] for name in ("k", "p", "sl", "ssk", "yo"))


def k(count: int) -> Work:
    """Return so many knit stitches."""
    return Work(K, (count,))


def p(count: int) -> Work:
    """Return so many purl stitches."""
    return Work(P, (count,))


LEFT_THREE = StopWork(left=(3,))
ROWS_AND_WORDS: list[tuple[tuple[Item, ...], str]] = [
    ((Along((k(1),)),), "knit to the end"),
    ((Along((p(1),)),), "purl to the end"),
    (
        (k(1), Work(SSK), Along((k(1),), LEFT_THREE), Work(together("k", 2)), k(1)),
        "knit one, slip slip knit, knit to the last three stitches, knit two together, knit one",
    ),
    (
        (k(2), Along((p(2), k(2)), star=True)),
        "knit two; repeat: purl two, knit two; to the end",
    ),
    (
        (Along((k(9), Work(together("k", 2))), star=True),),
        "repeat: knit nine, knit two together; to the end",
    ),
    (
        (Along((k(2), p(2)), StopWork(StopAt.REST), star=True), k(2)),
        "repeat: knit two, purl two; as far as it goes; knit two",
    ),
    (
        (Group((k(2), Work(YO)), (5,)), k(1)),
        "five times: knit two, yarn over; knit one",
    ),
    ((Work(together("k", 2), (2,)),), "knit two together, twice"),
    ((Work(together("p", 3), (4,)),), "purl three together, four times"),
    ((Work(YO, (2,)),), "yarn over, twice"),
    ((Work(SL, (1,), ("pwise", "wyif")),), "slip one purlwise with yarn in front"),
    ((Work(K, (1,), ("tbl",)),), "knit one through the back loop"),
    ((InStitch((k(1), Work(YO), k(1))),), "in one stitch: knit one, yarn over, knit one"),
    ((BindOff((5,)), Along((k(1),))), "bind off five, knit to the end"),
    ((BindOff(),), "bind off all"),
    ((BindOff(None, LEFT_THREE),), "bind off to the last three stitches"),
    (
        (CastOn((6,)), PickUp((40,), "along neck edge")),
        ("cast on six, pick up and knit forty along neck edge"),
    ),
    (
        (
            Along((k(1),), StopWork(StopAt.MARKER, (2,))),
            Work(together("k", 2)),
            Marker(MarkerMove.SLIP),
        ),
        "knit to two before the marker, knit two together, slip marker",
    ),
    (
        (Along((p(1),), StopWork(StopAt.MARKER, mark="a")), Marker(MarkerMove.REMOVE, "a")),
        "purl to marker A, remove marker A",
    ),
    (
        (Along((k(1),), StopWork(StopAt.GAP, (1,))), TurnWork(TurnKind.WRAP)),
        "knit to one before the gap, wrap and turn",
    ),
    ((Along((k(1),), StopWork(left=(1,))), TurnWork()), "knit to the last stitch, turn"),
    (
        (Hold(HoldWhich.NEXT, (20,)), TakeUp()),
        "put the next twenty on hold, take up the held stitches",
    ),
    (
        (Hold(HoldWhich.REST), TakeUp(amount=(8,))),
        "put the rest on hold, take up eight held stitches",
    ),
    ((JoinRound(), Remark("break yarn")), "join in the round, break yarn"),
    ((Work(cable("c4f")),), "cable four front"),
    ((Work(cable("2/2 rc")),), "two over two right cross"),
    ((Work(cable("lt")), Work(cable("c6zz"))), "left twist, cross six stitches"),
    ((Work(K, (3,), colour="A"),), "knit three with A"),
    (
        (Work(Stitch("sb", 1, 1, words="make a seed bump"), (3,)),),
        "make a seed bump, three times",
    ),
    (
        (Along((Work(STITCHES["work as they face"]),)),),
        ("knit the knits and purl the purls to the end"),
    ),
    ((Along((Work(STITCHES["work"]),), LEFT_THREE),), "work as set to the last three stitches"),
]


@pytest.mark.parametrize(
    ("items", "said"), ROWS_AND_WORDS, ids=[said for _, said in ROWS_AND_WORDS]
)
def test_a_row_is_said_in_words(items: tuple[Item, ...], said: str) -> None:
    """What is read out is what a friend would say who reads the pattern to her."""
    assert ROWS.say(Instruction(items)) == said


def plain(said: str) -> bool:
    """Whether a text consists of words only: no figures, no abbreviations, no signs but pauses."""
    return re.fullmatch(r"[a-z]{2,}|a|(?:(?:[a-z]{2,}|a)[,;:]? )+[a-z]{2,}", said) is not None


def test_every_stitch_of_the_trade_has_words(subtests: pytest.Subtests) -> None:
    """None of the table's stitches is said by its abbreviation, once or several times."""
    for name, stitch in STITCHES.items():
        with subtests.test(stitch=name):
            for count in (1, 2, 3, 12):
                said = ROWS.say(Instruction((Work(stitch, (count,)),)))
                assert plain(said), said
                assert name not in said.split() or name in {"work", "drop", "chart"}, said
            assert plain(ROWS.say(Instruction((Along((Work(stitch),)),))))


@pytest.mark.parametrize("letter", ["k", "p"])
@pytest.mark.parametrize("count", [2, 3, 5, 11])
def test_any_number_together_has_words(letter: str, count: int) -> None:
    """Two and more together are said with the number."""
    said = ROWS.say(Instruction((Work(together(letter, count)),)))
    assert said.endswith(" together")
    assert plain(said)


@pytest.mark.parametrize("how", ["tbl", "wyif", "wyib", "pwise", "kwise", "below"])
def test_every_way_of_working_has_words(how: str) -> None:
    """No way of working a stitch is said by its abbreviation."""
    assert plain(ROWS.say(Instruction((Work(K, (1,), (how,)),))))


def test_a_stitch_without_words_is_called_by_its_name() -> None:
    """A stitch that the designer defined without words keeps the name that she gave it."""
    stitch = Stitch("star", 3, 3, Kind.OTHER)
    assert ROWS.say(Instruction((Work(stitch),))) == "star"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "K2, k2tog, YO, p3 as charted",
            "knit two, knit two together, yarn over, purl three as charted",
        ),
        ("ssk, then work chart B", "slip slip knit, then work chart B"),
        ("k1 tbl", "knit one through the back loop"),
        ("Take a deep breath.", "Take a deep breath."),
    ],
)
def test_what_is_not_understood_is_read_out_as_well_as_possible(text: str, said: str) -> None:
    """The designer's own text is kept, but for the abbreviations that are known."""
    assert ROWS.say(Instruction(text=text)) == said
