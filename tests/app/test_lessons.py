"""Lessons: what a teacher writes, and how a learner is led through it and rescued."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import pytest

from app import command_line, resources
from app.drawings.hands.album import TOPICS
from app.lessons.leading import Leading, heard, shown
from app.lessons.lesson import Lesson, LessonError, Step, read_lesson
from app.lessons.topics import Topic

if TYPE_CHECKING:
    from pathlib import Path

FILES = sorted(resources.path("shared/lessons").glob("*.toml"))
SMALL = """
title = "Two steps"
minutes = 5
wants = "Yarn."
[[steps]]
say = "Knit the row."
show = "knit"
picture = 2
rescues = ["split", "dropped"]
[[steps]]
say = "Count."
count = 16
"""


def led(lesson: Lesson, *words: str) -> tuple[Leading, list[str]]:
    """Say words one after the other; return where the learner is and all that was answered."""
    leading = Leading(lesson)
    answers: list[str] = []
    for one in words:
        leading, said = heard(leading, one)
        answers += said
    return leading, answers


def test_the_lessons_that_come_with_it_can_be_read() -> None:
    """On a strip first, then casting on and binding off, then a piece; each of 75 minutes."""
    lessons = [read_lesson(file.read_text(encoding="utf-8")) for file in FILES]
    assert [lesson.minutes for lesson in lessons] == [75, 75, 75]
    first, second, third = lessons
    assert {step.count for step in first.steps if step.count} == {16}
    assert not {Topic.LONG_TAIL, Topic.SLIP_KNOT} & {step.show for step in first.steps}
    assert {Topic.LONG_TAIL, Topic.BIND_OFF} <= {step.show for step in second.steps}
    assert Topic.PURL not in {step.show for step in third.steps}


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_rests_are_spoken_of_once_and_nobody_is_praised(file: Path) -> None:
    """The caution comes once a lesson at most, and no step says well done."""
    words = " ".join(step.say for step in read_lesson(file.read_text(encoding="utf-8")).steps)
    assert words.count("stop if it hurts") == 1
    assert not re.search(r"well done|great|perfect|wonderful|bravo|good job", words, re.IGNORECASE)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_who_does_all_right_comes_to_the_end(file: Path) -> None:
    """Ready at every step, and the right number where one is asked for."""
    lesson = read_lesson(file.read_text(encoding="utf-8"))
    leading = Leading(lesson)
    for step in lesson.steps:
        assert not leading.over
        assert shown(leading).sentences[0] == step.say
        leading, _ = heard(leading, str(step.count) if step.count else "ready")
    assert leading.over
    assert leading.stuck_at == ()


def test_seventeen_leads_to_the_edge_stitch_and_back() -> None:
    """One too many: the pulled edge stitch and the stray loop are offered, shown, and left."""
    lesson = read_lesson(SMALL)
    leading, answers = led(lesson, "", "I have 17 stitches")
    assert answers[0] == "1 stitch too many. Stop here."
    assert shown(leading).choices == (Topic.EDGE_PULLED, Topic.STRAY_OVER)
    leading, _ = heard(leading, "1")
    assert (leading.rescue, leading.picture) == (Topic.EDGE_PULLED, 0)
    said: tuple[str, ...] = ()
    for _ in TOPICS[Topic.EDGE_PULLED]:
        leading, said = heard(leading, "ready")
    assert said == ("Back to where you were.",)
    assert leading.step.count == 16
    leading, _ = heard(leading, "16")
    assert leading.over
    assert leading.stuck_at == (1,)


def test_one_too_few_leads_to_the_dropped_stitch() -> None:
    """What is short has dropped or was worked together: those two are offered."""
    leading, answers = led(read_lesson(SMALL), "ready", "15")
    assert answers[0] == "1 stitch too few. Stop here."
    assert shown(leading).choices == (Topic.DROPPED, Topic.UNPICK)


def test_a_count_that_was_asked_for_cannot_be_skipped() -> None:
    """Ready is no number; only the right one goes on."""
    leading, answers = led(read_lesson(SMALL), "ready", "ready")
    assert leading.at == 1
    assert answers == ["Say how many stitches you have."]


@pytest.mark.parametrize("words", ["It looks wrong!", "I'm lost", "what is this", "help"])
def test_who_is_lost_is_asked_what_she_sees(words: str) -> None:
    """The rescues that fit the step are offered; that it is no harm is said once."""
    leading, answers = led(read_lesson(SMALL), words, "ready", words)
    assert shown(leading).choices == (Topic.SPLIT, Topic.DROPPED)
    assert answers.count("It happens to everybody and can be mended.") == 1


def test_back_and_again_change_nothing_but_the_place() -> None:
    """Back is the step before, or out of a rescue; before the first there is none."""
    lesson = read_lesson(SMALL)
    assert led(lesson, "back")[0].at == 0
    assert led(lesson, "ready", "back")[0].at == 0
    assert led(lesson, "ready", "again")[0].at == 1
    leading, _ = led(lesson, "it looks wrong", "2", "ready", "back")
    assert (leading.rescue, leading.picture) == (Topic.DROPPED, 0)
    assert heard(leading, "back")[0].rescue is None


def test_what_is_not_understood_moves_nothing() -> None:
    """Nonsense, a number where nothing is counted, one that was not offered."""
    lesson = read_lesson(SMALL)
    for words in ("purple", "16", "-3", "99999999999"):
        leading, answers = led(lesson, words)
        assert leading == Leading(lesson)
        assert len(answers) == 1
    leading, answers = led(lesson, "it looks wrong", "9")
    assert leading.offered
    assert answers[-1] == "There are 2 of them."


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('title = "Two steps"', "", "The lesson has no 'title'"),
        ("minutes = 5", "minutes = 0", "'minutes' is a whole number from 1"),
        ("minutes = 5", "minutes = true", "'minutes' is a whole number from 1"),
        ('show = "knit"', 'show = "nit"', "Step 1: nothing is drawn of 'nit'"),
        ("picture = 2", "picture = 6", "Step 1: 'knit' has 5 pictures, not 6"),
        ('show = "knit"', "", "Step 1 names a picture, but not what it shows"),
        ("count = 16", 'count = "sixteen"', "Step 2: 'count' is a whole number"),
        ('say = "Count."', 'says = "Count."', "Step 2 has 'says', which means nothing here"),
        ('say = "Count."', f'say = "{"la " * 200}"', "Step 2: 'say' has 600 letters"),
        ('["split", "dropped"]', '["split", 7]', "Step 1: nothing is drawn of '7'"),
        ('["split", "dropped"]', '"split"', "Step 1: rescues are a list"),
        ("[[steps]]", "[steps", "This is no lesson file"),
    ],
)
def test_a_slip_in_a_lesson_is_a_sentence(old: str, new: str, sentence: str) -> None:
    """It names the step and what is wrong with it."""
    assert old in SMALL
    with pytest.raises(LessonError, match=re.escape(sentence)):
        read_lesson(SMALL.replace(old, new, 1))


def test_a_lesson_without_steps_or_with_too_many_is_refused() -> None:
    """There is nothing to lead through, or no end to it."""
    head = SMALL.partition("[[steps]]")[0]
    for steps, sentence in (
        ("", "has no steps"),
        ("[[steps]]\nsay = 'x'\n" * 201, "has 201 steps"),
    ):
        with pytest.raises(LessonError, match=sentence):
            read_lesson(head + steps)
    assert Step("x").show is None


def test_it_is_led_in_the_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A teacher's own file: steps, a wrong count, a rescue with its pictures, and the end."""
    file = tmp_path / "mine.toml"
    file.write_text(SMALL, encoding="utf-8")
    monkeypatch.setattr("sys.stdin", io.StringIO("\n17\n2\n\n\n16\n"))
    assert command_line.main(["lesson", str(file)]) == 0
    told = capsys.readouterr().out
    assert "[The knit stitch, picture 2 of 5]" in told
    assert "1 stitch too many. Stop here." in told
    assert "Let it slide off and even it out into the stitches beside it.\n        [A loop" in told
    assert told.rstrip().endswith("That was the lesson.\nHelp was asked for at step 2.")


def test_the_terminal_lists_lessons_and_tells_what_it_cannot_use(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Without a lesson they are listed; a file with a slip, and none, each end in a sentence."""
    assert command_line.main(["lesson"]) == 0
    assert "1  The first stitches (75 minutes)" in capsys.readouterr().out
    assert command_line.main(["lesson", "--topics"]) == 0
    assert "edge_pulled" in capsys.readouterr().out
    slip = tmp_path / "slip.toml"
    slip.write_text("title = 1", encoding="utf-8")
    assert command_line.main(["lesson", str(slip)]) == 3
    assert "slip.toml: The lesson has no steps" in capsys.readouterr().err
    assert command_line.main(["lesson", str(tmp_path / "none.toml")]) == 3
    assert "none.toml" in capsys.readouterr().err
