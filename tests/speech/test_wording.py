"""Every reply has words: few, whole, and with the values that it carries."""

from __future__ import annotations

import inspect
import re
import tomllib
from fractions import Fraction

import pytest

from app import resources
from engine import replies
from engine.commands import Since, Term
from engine.fabric import Fabric
from engine.pattern.headings import Side
from engine.pattern.instruction import Instruction
from engine.pattern.notation import Along, StopWork, Work
from engine.pattern.stitches import STITCHES, together
from engine.quantities import centimetres, grams, inches
from engine.replies import Reply, Say, reply
from engine.show_how import Move
from engine.stages import Stage
from speech.words.phrases import read_phrases
from speech.words.wording import WordingError, read_wording

TEXT = resources.text("shared/phrases/replies.en.toml")
NUMBERS = read_phrases(resources.text("shared/phrases/en.toml")).numbers
WORDING = read_wording(TEXT, NUMBERS)

ROW = Instruction(
    (
        Work(STITCHES["k"]),
        Work(STITCHES["ssk"]),
        Along((Work(STITCHES["k"]),), StopWork(left=(3,))),
        Work(together("k", 2)),
        Work(STITCHES["k"]),
    )
)
VALUES: dict[str, replies.Value] = {
    **dict.fromkeys(["row", "rows", "stitches", "count", "expected"], 49),
    "low": 18,
    "high": 21,
    "time": 3,
    "times": 5,
    "by": 2,
    "minutes": 30,
    "percent": 6,
    "chance": 92,
    "side": Side.RIGHT,
    "since": Since.CAST_ON,
    "fabric": Fabric.ON_NEEDLE,
    "length": inches(Fraction(35, 8)),
    "least": centimetres(9),
    "most": centimetres(12),
    "mass": grams(41),
    "instruction": ROW,
    "move": Move(ROW, 1),
    "thing": replies.Thing.PART_END,
    "title": "Bottle sleeve",
    "words": "a word",
    "place": "Row 3",
    "purpose": "after every row",
    "term": Term.WRONG_SIDE,
    "stage": Stage.WASHED,
    "done": 30,
    "packed": 20,
    "last": 66,
}


def carried() -> dict[Say, frozenset[str]]:
    """Return the names of the values of every reply, as `Say` says beside it."""
    found: dict[Say, frozenset[str]] = {}
    for line in inspect.getsource(replies).splitlines():
        entry = re.fullmatch(r'    [A-Z_]+ = "([a-z_]+)"(?:  # (.*))?', line)
        if entry and entry[1] in set(Say):
            names = re.match(r"((?:[a-z]+(?:, )?)*?)(?::.*|$)", entry[2] or "")
            listed = set(names[1].split(", ")) if names else set()
            found[Say(entry[1])] = frozenset(listed & set(VALUES))
    return found


CARRIED = carried()


def example(say: Say) -> Reply:
    """Return a reply with values that a knitter would meet."""
    return Reply(say, values=tuple((name, VALUES[name]) for name in sorted(CARRIED[say])))


def test_the_values_of_every_reply_are_known() -> None:
    """The list that these tests go by is complete."""
    assert set(CARRIED) == set(Say)
    assert CARRIED[Say.WELCOME_BACK] == {"title", "row", "side"}
    assert CARRIED[Say.NEXT_IS] == {"row", "instruction"}
    assert CARRIED[Say.TICK] == frozenset()


def test_the_words_need_no_value_that_the_reply_lacks(subtests: pytest.Subtests) -> None:
    """Spoken or written, every gap can be filled with what the reply carries."""
    for say in Say:
        with subtests.test(say=say):
            assert WORDING.say[say].names <= CARRIED[say]
            if say in WORDING.board:
                assert WORDING.board[say].names <= CARRIED[say]
            written = WORDING.board.get(say, WORDING.say[say]).names | WORDING.say[say].names
            assert written == CARRIED[say], "a value is neither said nor written"


SIGNS = re.compile(r"[^A-Za-z ,.;:?-]")


ABBREVIATIONS = {"sts", "st", "rs", "ws", "rnd", "tog", "ssk", "cm"}


def test_what_is_spoken_is_whole_words(subtests: pytest.Subtests) -> None:
    """No figures, no signs, no abbreviations: a voice would stumble over them."""
    for say in Say:
        with subtests.test(say=say):
            spoken = WORDING.spoken(example(say))
            assert not SIGNS.search(spoken), spoken
            for word in re.findall(r"[A-Za-z]+", spoken):
                assert len(word) > 1 or word in {"a", "A", "I"}, spoken
                assert word.casefold() not in ABBREVIATIONS, spoken
                assert re.search(r"[aeiouy]", word.casefold()), spoken


LONGER = {
    *(Say.NEXT_IS, Say.INSTRUCTION, Say.BIT, Say.HOW, Say.ROW_READ, Say.ROW_READ_OPEN),
    *(Say.ROW_SAID, Say.OTHER_ROW_SAID, Say.ROW_MENDED, Say.ASK_ROW, Say.ROW_SO_FAR),
    Say.ROWS_REPEATED_UNTIL,
    *(Say.WELCOME_BACK, Say.WELCOME_BACK_IN_ROW),
    *(Say.FIRST_ROW, Say.FINISHING, Say.CAUTION, Say.MEANS, Say.HOLD_NEEDLES),
}
"""A row, and what a designer says, takes the words that it takes; she is greeted once.

Nobody knits while she asks what a word means or how needles are held.
"""


def test_what_is_spoken_is_short(subtests: pytest.Subtests) -> None:
    """Eight words at most, numbers included: she goes on knitting meanwhile."""
    for say in sorted(set(Say) - LONGER):
        with subtests.test(say=say):
            spoken = WORDING.spoken(example(say))
            assert len(spoken.replace("-", " ").split()) <= 8, spoken


def test_every_reply_is_a_sentence(subtests: pytest.Subtests) -> None:
    """Spoken and written words begin with a capital and end with a full stop or question mark.

    What a lesson says is its own sentence, and nothing is put around it.
    """
    assert WORDING.say[Say.LESSON_SAYS].names == {"words"}
    for say in sorted(set(Say) - {Say.TICK, Say.LESSON_SAYS}):
        for sentence in (WORDING.spoken(example(say)), WORDING.written(example(say))):
            with subtests.test(say=say, sentence=sentence):
                assert re.match(r"[A-Z0-9]", sentence)
                assert sentence[-1] in ".?"
                assert sentence == " ".join(sentence.split())


def test_a_question_sounds_like_one(subtests: pytest.Subtests) -> None:
    """What expects an answer ends with a question mark, so that the voice rises."""
    for say in Say:
        if say.value.startswith("ask_"):
            with subtests.test(say=say):
                assert WORDING.spoken(example(say)).endswith("?")
                assert WORDING.written(example(say)).endswith("?")


def test_a_tick_says_nothing() -> None:
    """The everyday answer is a tone alone."""
    assert WORDING.spoken(reply(Say.TICK)) == ""
    assert WORDING.written(reply(Say.TICK)) == ""


@pytest.mark.parametrize(
    ("answer", "spoken", "written"),
    [
        (reply(Say.ROWS_DONE, row=44), "Forty four done.", "44 done."),
        (
            reply(Say.WORKING, row=49, side=Side.RIGHT),
            "Working forty nine, right side.",
            "Working 49, right side.",
        ),
        (
            reply(Say.REPEAT, time=3, times=5, row=2),
            "Third of five, row two.",
            "Third of 5, row 2.",
        ),
        (reply(Say.CHANGE_AT, row=53), "Row fifty three.", "The next change is in row 53."),
        (
            reply(Say.ROWS_LEFT, low=18, high=21),
            "Eighteen to twenty one rows.",
            "18 to 21 rows to go.",
        ),
        (reply(Say.ROWS_LEFT_EXACTLY, rows=1), "One row.", "1 row to go."),
        (reply(Say.YARN_PROBABLY, row=60), None, "Probably; weigh again at row 60."),
        (reply(Say.YARN_SHORT, low=5, high=5), "No, only five rows.", None),
        (reply(Say.MEASURED, length=centimetres(11)), "Eleven.", "11 cm."),
        (
            reply(Say.MEASURED, length=inches(Fraction(35, 8))),
            "Four and three eighths.",
            "4 3/8 in.",
        ),
        (reply(Say.COUNT_RIGHT), "Right.", "Right."),
        (
            reply(Say.COUNT_SHORT_SHAPING, by=2, row=53),
            "Two short; check row fifty three.",
            "2 stitches short; look at the shaping in row 53 first.",
        ),
        (reply(Say.NOTED, row=41), "Noted, forty one.", "Noted at row 41."),
        (reply(Say.ASK_WORKING, row=38), "Working thirty eight?", "Working 38?"),
        (reply(Say.ASK_ROWS_DONE, row=36), "Thirty six done?", "36 done?"),
        (reply(Say.OPEN, row=41), "Forty one open.", "Row 41 is open again."),
        (reply(Say.DROPPED), "Stop. Pin it.", "Stop. Do not pull. Pin the stitch."),
        (reply(Say.ASK_AFTER), "After how many?", "After how many stitches?"),
        (
            reply(Say.NEXT_IS, row=53, instruction=ROW),
            (
                "Row fifty three: knit one, slip slip knit, knit to the last three stitches, "
                "knit two together, knit one."
            ),
            "Row 53: k1, ssk, k to last 3 sts, k2tog, k1.",
        ),
    ],
)
def test_the_answers_of_the_trade(answer: Reply, spoken: str | None, written: str | None) -> None:
    """The commonest answers, word for word, as knitters want to hear and read them."""
    assert spoken is None or WORDING.spoken(answer) == spoken
    assert written is None or WORDING.written(answer) == written


def test_several_replies_are_said_in_one_breath() -> None:
    """A tick among them says nothing."""
    answers = (reply(Say.TICK), reply(Say.LAST_ROW_DONE), reply(Say.ASK_FINISH))
    assert WORDING.said_aloud(answers) == "Last row done. Is it finished?"


def without(section: str) -> str:
    """Return the reply data without a table."""
    return re.sub(rf"\[{re.escape(section)}\]\n(?:(?!\[).*\n)*", "", TEXT)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("= no toml", "The reply data is not TOML"),
        (without("replies.working"), "The reply 'working' has no words."),
        (without("units"), r"The reply data has no table \[units\]."),
        (without("sides"), r"The reply data has no table \[sides\]."),
        (TEXT + '\n[replies.never]\nsay = "No."\n', "There is no reply 'never'."),
        (TEXT.replace('wrong = "wrong side"', ""), r"\[sides\] has no text 'wrong'."),
        (TEXT.replace('["inch", "inches"]', '["inch"]'), r"\[units\] needs two words for 'in'"),
        (TEXT.replace('["inch", "inches"]', '"inch"'), r"\[units\] has no list of words 'in'."),
        (TEXT.replace("parts.2", "parts.two"), r"\[numbers\] parts are named by"),
        (
            TEXT.replace('"Working {row}, {side}."', '"Working {row."'),
            r"\[replies.working\]: 'Working {row.' opens a gap",
        ),
        (
            TEXT.replace("[replies.working]", '[replies.working]\nbored = ""'),
            r"\[replies.working\] has an unknown entry 'bored'.",
        ),
    ],
)
def test_a_slip_in_the_data_is_one_sentence(text: str, sentence: str) -> None:
    """Whatever is wrong in the data is found when it is read, and said where."""
    assert text != TEXT
    with pytest.raises(WordingError, match=sentence):
        read_wording(text, NUMBERS)


def test_no_entry_of_the_data_is_left_unused() -> None:
    """Every table of the data is one that is read."""
    tables = set(tomllib.loads(TEXT))
    assert tables == {
        "language", "numbers", "units", "sides", "since", "fabric", "thing", "meaning", "stage",
        "replies",
        "stitches", "along", "together", "cables", "how", "prose", "row",
    }  # fmt: skip
