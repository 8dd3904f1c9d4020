"""A row at two levels: in whole words, and as the moves that the hands make."""

from __future__ import annotations

import re
import tomllib

import pytest

from app import resources
from engine.pattern.instruction import Instruction
from engine.pattern.notation import (
    Along,
    BindOff,
    CastOn,
    Group,
    Hold,
    InStitch,
    Item,
    JoinRound,
    Marker,
    MarkerMove,
    PickUp,
    Remark,
    StopWork,
    TakeUp,
    TurnKind,
    TurnWork,
    Work,
)
from engine.pattern.stitches import STITCHES, Stitch, cable, together
from speech.words.instructions import HandWords, Step, StepsError, read_steps
from speech.words.level import Level
from speech.words.phrases import read_phrases
from speech.words.wording import read_wording

TEXT = resources.text("shared/phrases/steps.en.toml")
ROWS = read_wording(
    resources.text("shared/phrases/replies.en.toml"),
    read_phrases(resources.text("shared/phrases/en.toml")).numbers,
).rows
HANDS = read_steps(TEXT, ROWS)

EVERYTHING: tuple[Item, ...] = (
    *(Work(stitch) for stitch in STITCHES.values()),
    Work(together("k", 3)),
    Work(together("p", 2), how=("tbl",)),
    Work(cable("c4f")),
    Work(cable("2/2 rc")),
    Work(Stitch("puff", 1, 1, words="make a puff")),
    Group((Work(STITCHES["k"], (2,)), Work(STITCHES["yo"])), (3,)),
    InStitch((Work(STITCHES["k"]), Work(STITCHES["yo"]), Work(STITCHES["k"]))),
    Along((Work(STITCHES["p"]),), StopWork(left=(2,))),
    Along((Work(STITCHES["k"], (2,)), Work(STITCHES["p"], (2,))), star=True),
    BindOff(),
    BindOff((5,)),
    CastOn((1,)),
    PickUp((40,)),
    *(Marker(move) for move in MarkerMove),
    *(TurnWork(kind) for kind in TurnKind),
    Hold(amount=(20,)),
    TakeUp(),
    JoinRound(),
    Remark("break yarn"),
)


def one(item: Item) -> Step:
    """Return the step of a single item."""
    (step,) = HANDS.steps(Instruction((item,)))
    return step


def test_knit_is_in_round_through_off() -> None:
    """The knit stitch is told by the four moves that beginners are taught, in their order."""
    first_words = [move.split(":")[0] for move in one(Work(STITCHES["k"])).moves]
    assert first_words[1:] == ["In", "Round", "Through", "Off"]


@pytest.mark.parametrize(
    ("plain", "changed"),
    [
        (Work(STITCHES["k"]), Work(STITCHES["k"], how=("tbl",))),
        (Work(STITCHES["p"]), Work(STITCHES["p"], how=("tbl",))),
        (Work(STITCHES["k"]), Work(STITCHES["k"], how=("below",))),
        (Work(STITCHES["sl"]), Work(STITCHES["sl"], how=("kwise",))),
        (Work(STITCHES["sl"]), Work(STITCHES["sl"], how=("wyif",))),
        (Work(together("k", 2)), Work(together("k", 2), how=("tbl",))),
    ],
)
def test_how_a_stitch_is_worked_changes_its_moves(plain: Work, changed: Work) -> None:
    """Through the back loop, in the row below, knitwise, with yarn in front: other moves."""
    assert one(plain).moves != one(changed).moves


def test_numbers_in_moves_are_those_of_the_stitch() -> None:
    """Three together take three, and one cast on is one."""
    assert any("next three stitches" in move for move in one(Work(together("k", 3))).moves)
    assert one(CastOn((1,))).moves[-1].endswith("is one new stitch.")
    assert one(CastOn((6,))).moves[-1].endswith("are six new stitches.")


def test_a_repeat_has_its_stitches_inside() -> None:
    """What is repeated is one step with the steps of the repeat in it."""
    step = one(Along((Work(STITCHES["k"], (2,)), Work(STITCHES["p"], (2,))), star=True))
    assert step.moves == ()
    assert [inner.said for inner in step.inside] == ["knit two", "purl two"]


def test_the_same_moves_are_told_once() -> None:
    """A row with many knit stitches tells how to knit only the first time."""
    row = Instruction(
        (Work(STITCHES["k"], (2,)), Work(STITCHES["yo"]), Along((Work(STITCHES["k"]),)))
    )
    told = HANDS.say(row, Level.HANDS)
    assert told.count("In: push") == 1
    assert told.startswith("Knit two. ")
    assert told.endswith("Knit to the end.")


def test_the_row_level_is_the_row_read_out() -> None:
    """The short level says the row in whole words and nothing else."""
    row = Instruction((Work(STITCHES["k"]), Work(STITCHES["ssk"])))
    assert HANDS.say(row, Level.ROW) == "knit one, slip slip knit"


def test_everything_is_told_in_whole_words(subtests: pytest.Subtests) -> None:
    """No letters, no figures, no signs: a voice can read all of it, and every sentence ends."""
    for item in EVERYTHING:
        with subtests.test(item=item):
            told = HANDS.say(Instruction((item,)), Level.HANDS)
            assert not re.search(r"\d|[{}*/&]|\b(?:k|p|sl|sts|st|tog|yo|tbl)\b", told), told
            assert told.endswith(".")


def test_the_moves_know_no_left_and_right_hand() -> None:
    """The words hold for left-handed knitters as they are: only pictures are mirrored."""
    sentences = str(tomllib.loads(TEXT))
    assert not re.search(r"\b(?:left|right)\b", sentences)


def test_the_designers_own_text_is_one_step() -> None:
    """A row that the reader does not understand is said as it stands, without moves."""
    (step,) = HANDS.steps(Instruction(text="work the leaf over all stitches"))
    assert step == Step("work the leaf over all stitches")


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('\nssk = ["', '\n"not ssk" = ["', "[stitches] says nothing of 'ssk'."),
        ('yo = ["over"]', 'yo = ["ovre"]', "There is no move 'ovre'."),
        ("[together]", "[togehter]", "The data of the moves has no table [together]."),
        ("{count} stitches at once", "{counts} stitches at once", "may only name a count."),
        ('yo = ["over"]', "yo = 3", "stitches.yo is no list of moves."),
        ('language = "en"', "language = en", "The data of the moves is not TOML"),
    ],
)
def test_slips_in_the_data_are_found_at_the_start(old: str, new: str, sentence: str) -> None:
    """What is missing or misspelt in the data is named when it is read."""
    assert old in TEXT
    with pytest.raises(StepsError, match=re.escape(sentence)):
        read_steps(TEXT.replace(old, new), ROWS)


def test_the_words_are_complete() -> None:
    """Every stitch of the table has moves of its own."""
    assert isinstance(HANDS, HandWords)
    assert all(one(Work(stitch)).moves for stitch in STITCHES.values())
