"""One question at most, and a yes answers the one that was said last: by dice, and by hand."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule

from app import resources
from app.language import phrase_book
from app.session.dialogue import QUESTION_LASTS_MS
from engine.commands import Source
from engine.replies import Say
from engine.talk import No, Yes
from speech.words.understand import example, understand, understand_heard
from tests.app.one_question import ASKS, Walk

if TYPE_CHECKING:
    from collections.abc import Iterator

BOOK = phrase_book()
EXAMPLES = sorted({example(form, BOOK) for form in BOOK.all_forms})
"""Everything that can be said, once."""
DOUBTED = [
    "measure three centimetres", "measure 60 cm", "90 rows done", "i count 13 stitches",
    "ripped back five rows", "really on row 8", "piece is finished", "part done", "stop in row",
    "swatch has 200 stitches", "yarn weighs 41 grams", "yarn weighs 80 grams", "dictate",
    "cast on pattern 1 now", "same again", "mistake in row 90", "needle 60 mm", "measure 7 cm",
    "switch to the second one", "other piece", "undo", "redo", "how", "next bit", "back",
    "say that again", "which row", "check my voice", "show my pieces", "back to the board",
]  # fmt: skip
"""What is asked about, and what is said while a question stands."""
NUMBERS = [
    "i count thirteen stitches", "thirteen rows done", "measure fourteen centimetres",
    "really on row thirteen", "stopping after thirty stitches", "mistake in row thirty",
]  # fmt: skip
UNKNOWN = ["the soup is ready", "witch row now", "measure tree centimetres", "yesh", "rw done"]

sentences = st.sampled_from(DOUBTED) | st.sampled_from(EXAMPLES)


class Talked(RuleBasedStateMachine):
    """Anything that can come in, in any order, beside the model."""

    def __init__(self) -> None:
        """Begin with two pieces under way."""
        super().__init__()
        self.walk = Walk()

    def right(self, wrong: list[str]) -> None:
        """Fail where the talk does not do as the model says."""
        assert wrong == []

    @rule(words=sentences | st.sampled_from(UNKNOWN))
    def types(self, words: str) -> None:
        """Type words, known or not."""
        self.right(self.walk.types(words))

    @rule(words=st.sampled_from(["yes", "y", "no"]))
    def types_an_answer(self, words: str) -> None:
        """Type an answer."""
        self.right(self.walk.types(words))

    @rule(said=st.sampled_from([Yes(), No()]), source=st.sampled_from([Source.TOUCH, Source.KEY]))
    def touches_an_answer(self, said: Yes | No, source: Source) -> None:
        """Touch or key an answer."""
        self.right(self.walk.touches(said, source))

    @rule(words=sentences, source=st.sampled_from([Source.TOUCH, Source.KEY, Source.PEDAL]))
    def touches(self, words: str, source: Source) -> None:
        """Touch, key or press what the words say."""
        self.right(self.walk.touches(understand(words, BOOK)[0], source))

    @rule(words=sentences | st.sampled_from(NUMBERS) | st.sampled_from(["yes", "no"]))
    def says(self, words: str) -> None:
        """Say words; typed ones are not heard."""
        heard = understand_heard(words, BOOK, asked=self.walk.now.question is not None)
        if heard:
            self.right(self.walk.says(heard, words))

    @rule(words=st.sampled_from(NUMBERS) | st.none())
    def mumbles(self, words: str | None) -> None:
        """Say something of which the number is in doubt, or that is no command."""
        self.right(self.walk.mumbles(understand_heard(words, BOOK) if words else ()))

    @rule(text=st.sampled_from(["yes", "too tight here", "row done"]))
    def dictates(self, text: str) -> None:
        """Speak what the listening takes for a note."""
        self.right(self.walk.dictates(text))

    @rule(ms=st.sampled_from([1_000, 30_000, 46_000]))
    def waits(self, ms: int) -> None:
        """Let time pass."""
        self.right(self.walk.waits(ms))

    @rule(words=st.sampled_from(["row done", "3 rows done", "undo"]))
    def merges(self, words: str) -> None:
        """Bring in what another device recorded."""
        self.right(self.walk.merges(words))

    @rule(at=st.integers(0, 3))
    def takes_up(self, at: int) -> None:
        """Touch a piece of the list."""
        self.right(self.walk.takes_up(at))

    def teardown(self) -> None:
        """Put the work away."""
        self.walk.close()


TestTalked = Talked.TestCase
TestTalked.settings = settings(max_examples=25, stateful_step_count=40, deadline=None)


@pytest.fixture
def walk() -> Iterator[Walk]:
    """Return a talk about a piece of twenty rows, measured once."""
    walk = Walk()
    yield walk
    walk.close()


def test_a_yes_after_words_that_are_not_known_writes_nothing(walk: Walk) -> None:
    """A doubted length is not written by a yes that follows a sentence nobody understood."""
    walk.types("measure three centimetres")
    assert walk.now.question is not None
    assert walk.now.question.say is Say.ASK_LENGTH_AGAIN
    lengths = walk.now.state.lengths
    walk.types("the soup is ready to be eaten")
    assert walk.now.question is None
    walk.types("yes")
    assert walk.now.state.lengths == lengths
    assert walk.now.replies[0].say is Say.NO_QUESTION


def test_did_you_mean_is_the_question_that_a_yes_answers(walk: Walk) -> None:
    """After "did you mean" a yes does what was meant, not what was asked before."""
    walk.types("90 rows done")
    walk.types("witch row now")
    assert walk.now.question is not None
    assert walk.now.question.say is Say.ASK_MEANT
    walk.types("yes")
    assert walk.now.replies[0].say is Say.WORKING
    assert walk.now.state.done == 20


def test_numbers_of_an_example_are_never_asked_about(walk: Walk) -> None:
    """A hint with a number that she never said is no question, and a yes to it does nothing."""
    walk.types("mesure 8 cm")
    heard = walk.now.heard
    assert heard is not None
    assert "eleven centimetres" in heard.why
    assert "?" not in heard.why
    assert walk.now.question is None


def test_an_answer_that_changes_nothing_asks_again(walk: Walk) -> None:
    """Who looks up her row before she answers is asked the same once more, behind the answer."""
    walk.types("measure three centimetres")
    asked = walk.now.question
    walk.types("which row now")
    assert [one.say for one in walk.now.replies] == [Say.WORKING, Say.ASK_LENGTH_AGAIN]
    assert walk.now.question == asked


def test_records_of_another_device_end_a_question(walk: Walk) -> None:
    """What was asked of other rows is over after a merge: its yes rips nothing back."""
    walk.types("ripped back five rows")
    walk.merges("8 rows done")
    walk.types("yes")
    assert walk.now.state.done == 28


def test_a_note_that_was_waited_for_is_not_written_on_another_piece(walk: Walk) -> None:
    """What is dictated after she went to another piece is not noted there."""
    walk.types("take a note")
    walk.takes_up(0 if walk.now.pieces[1].id == walk.now.state.piece else 1)
    walk.dictates("too tight here")
    assert walk.now.state.notes == ()


def test_a_question_goes_from_the_board_when_it_has_expired(walk: Walk) -> None:
    """A question that nobody answered is not shown any longer than it stands, without a word."""
    walk.types("measure three centimetres")
    walk.clock.ms += QUESTION_LASTS_MS + 1
    walk.settle()
    assert walk.now.question is None
    assert all(one.say not in ASKS for one in walk.now.replies)


def test_only_questions_end_in_a_question_mark() -> None:
    """No answer that a yes cannot answer is worded as a question, on the board or aloud."""
    replies = tomllib.loads(resources.text("shared/phrases/replies.en.toml"))["replies"]
    asking = {key for key, words in replies.items() if "?" in _said(words["say"])}
    asking |= {key for key, words in replies.items() if "?" in _said(words.get("board", ""))}
    assert asking <= {str(say) for say in ASKS}


def _said(template: str) -> str:
    """Return a template without its values, in which a question mark is a sign of the form."""
    while "{" in template:
        before, _, rest = template.partition("{")
        template = before + rest.partition("}")[2]
    return template
