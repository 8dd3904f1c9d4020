"""The hands on paper: in a pattern when asked for, and as a handout of their own."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from app import command_line, resources
from app.drawings.hands.album import TOPICS
from app.lessons.topics import Topic, TopicsError
from app.printing.hands_drawing import draw_pose
from app.printing.hands_handout import handout, read_handout
from app.printing.shapes import PathShape
from app.session.settings import YarnHand

if TYPE_CHECKING:
    from pathlib import Path

CAP = str(resources.path("shared/patterns/crew-cap.toml"))
WORDS = resources.text("shared/print/hands.en.toml")


def written(folder: Path, *arguments: str) -> str:
    """Run the command line and return what it wrote."""
    to = folder / "out.html"
    assert command_line.main([*arguments, "--to", str(to), "--replace"]) == 0
    return to.read_text(encoding="utf-8")


def test_a_pattern_shows_how_its_own_stitches_are_made(tmp_path: Path) -> None:
    """Each with all its moves; without being asked a pattern has none of it."""
    page = written(tmp_path, "write", CAP, "--hands", "right")
    section = page.partition("How it is made")[2]
    assert re.findall("<h3>([^<]*)</h3>", section)[:4] == [
        "Cast on one",
        "Knit one",
        "Purl one",
        "Knit two together",
    ]
    assert section.count("<svg") == 6 + 5 + 5 + 4 + 3
    assert "How it is made" not in written(tmp_path, "write", CAP)


def test_the_yarn_runs_from_the_hand_that_leads_it(tmp_path: Path) -> None:
    """The pictures of one hold are not those of the other, and a left-hander's are mirrored."""
    pages = {
        written(tmp_path, "hands", "knit", *more)
        for more in ((), ("--yarn", "left"), ("--left-handed",))
    }
    assert len(pages) == 3


def test_the_handout_has_every_topic_with_a_sentence_for_each_picture(tmp_path: Path) -> None:
    """Nothing that is drawn is without words, on the page, in the text and as PDF."""
    page = written(tmp_path, "hands")
    assert page.count("<svg") == sum(map(len, TOPICS.values()))
    assert page.count("<figcaption>") == page.count("<svg")
    text = tmp_path / "hands.md"
    assert command_line.main(["hands", "--to", str(text)]) == 0
    assert "1. The yarn lies over the needle" in text.read_text(encoding="utf-8")
    pytest.importorskip("reportlab")
    pdf = tmp_path / "hands.pdf"
    assert command_line.main(["hands", "knit", "dropped", "--to", str(pdf)]) == 0
    assert pdf.read_bytes().startswith(b"%PDF")


def test_a_mirrored_picture_is_the_picture_mirrored() -> None:
    """Every point has its partner on the other side of the middle of the paper."""
    pose = TOPICS[Topic.KNIT][2](YarnHand.RIGHT)
    plain, mirrored = draw_pose(pose, "plain"), draw_pose(pose.mirrored(), "mirrored")
    for one, two in zip(plain.shapes, mirrored.shapes, strict=True):
        assert isinstance(one, PathShape)
        assert isinstance(two, PathShape)
        for (x, y), (other_x, other_y) in zip(one.points, two.points, strict=True):
            assert x + other_x == pytest.approx(plain.width, abs=0.2)
            assert y == other_y


def test_the_usual_caution_is_on_the_handout_once() -> None:
    """About rests, in the words of the tables."""
    sheet = handout([Topic.KNIT], YarnHand.RIGHT, left_handed=False)
    assert len(sheet.cautions) == 1
    assert "rest" in sheet.cautions[0].lower() or "break" in sheet.cautions[0].lower()


@pytest.mark.parametrize(
    ("slip", "sentence"),
    [
        ("title = ", "not TOML"),
        (WORDS.replace("[topics.purl]", "[topics.pearl]"), "no title for 'purl'"),
        (WORDS.replace('    "The yarn is in front of the work.",\n', ""), "'purl' has 4 sentences"),
        (WORDS.replace('moves = ["The full needle', 'said = ["The full needle'), "for 'hold'"),
        ('topics = 1\ntitle = "x"', "needs a title and the topics"),
    ],
)
def test_slips_in_the_words_are_told_in_a_sentence(slip: str, sentence: str) -> None:
    """Whoever changes the words reads what is missing, and where."""
    with pytest.raises(TopicsError, match=re.escape(sentence)):
        read_handout(slip)


def test_what_cannot_be_written_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A wrong topic, a wrong ending, a file that is there already: a sentence, and no file."""
    there = tmp_path / "there.md"
    there.write_text("mine", encoding="utf-8")
    for arguments, code, sentence in (
        (("pearl", "--to", str(tmp_path / "x.md")), 2, "there is no topic 'pearl'"),
        (("--to", str(tmp_path / "x.txt")), 2, "has to end in"),
        (("--to", str(tmp_path / "none" / "x.md")), 3, "there is no folder"),
        (("--to", str(there)), 3, "add --replace"),
    ):
        assert command_line.main(["hands", *arguments]) == code
        assert sentence in capsys.readouterr().err
    assert there.read_text(encoding="utf-8") == "mine"
    assert [one.name for one in tmp_path.iterdir()] == ["there.md"]
