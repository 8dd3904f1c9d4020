"""`walesong plan`: what it prints, as words and as JSON, and what it refuses."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING, Any

import pytest

from app.pieces.pattern_cache import course_of, document_of
from app.terminal import plan_command
from engine.history import fold
from engine.journal.sqlite import SqliteJournal
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    from pathlib import Path

MUG = [
    "--swatch", "20x28", "--unwashed", "20x29", "--width", "24 cm", "--length", "8 cm",
    "--multiple", "4+2", "--edges", "2", "--even-rows",
]  # fmt: skip

PLAIN = ["--swatch", "20x28", "--width", "24 cm", "--length", "8 cm"]


def run(*arguments: str) -> int:
    """Run the sub-command with these arguments."""
    top = argparse.ArgumentParser(prog="walesong")
    plan_command.add_parser(top.add_subparsers())
    options = top.parse_args(["plan", *arguments])
    code: int = options.run(options)
    return code


def as_json(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    """Run it with --json and return the object."""
    assert run(*arguments, "--json") == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_the_mugs_sleeve(capsys: pytest.CaptureFixture[str]) -> None:
    """The demo's smallest sleeve comes out as it is knitted."""
    piece = as_json(capsys, *MUG, "--ball", "100 g, 200 m")["piece"]
    assert piece["cast_on"] == 50
    assert piece["rows"] == 22
    assert piece["finished_width"] == {"value": 24, "unit": "cm", "cm": 24}
    assert piece["length_before_wash"]["cm"] == pytest.approx(22 / 2.9)
    assert piece["yarn"]["balls"] == 1
    assert piece["yarn_category"] == {"fit": "one", "numbers": [4]}


def test_words_have_both_units(capsys: pytest.CaptureFixture[str]) -> None:
    """Lengths are printed in the knitter's unit with the other beside it."""
    assert run(*MUG) == 0
    out = capsys.readouterr().out
    assert "Cast on 50 stitches, a multiple of 4 plus 2." in out
    assert "24 cm (9 1/2 in)" in out
    assert "Before the wash the ruler reads 7.6 cm" in out
    assert run("--swatch", "5x7/1in", "--width", "9 1/2 in", "--length", "7 in") == 0
    assert "9 1/2 in (24.1 cm)" in capsys.readouterr().out


def test_ease_around_something(capsys: pytest.CaptureFixture[str]) -> None:
    """A mug of 26 cm, 8 per cent smaller, wants 23.92 cm."""
    found = as_json(
        capsys, "--swatch", "20x28", "--around", "26 cm", "--ease", "8% smaller",
        "--length", "8 cm",
    )["piece"]  # fmt: skip
    assert found["cast_on"] == 48


def test_a_swatch_that_is_off(capsys: pytest.CaptureFixture[str]) -> None:
    """Too many stitches: a thicker needle that exists, and why."""
    assert run(*MUG, "--pattern-gauge", "19x27", "--needle", "4.5 mm") == 0
    out = capsys.readouterr().out
    assert "tighter" in out
    assert "5 mm" in out
    assert "swatch again" in out


def test_shaping_names_its_convention(capsys: pytest.CaptureFixture[str]) -> None:
    """Both ways of counting are named, and the rows are those of the rate."""
    found = as_json(capsys, "--shape", "60-38/108")["shaping"]
    assert found["counting"] == "every"
    assert found["steps"] == [{"every": 9, "times": 2}, {"every": 10, "times": 9}]
    assert run("--shape", "60-38/108", "--next-row") == 0
    assert "on the next row" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--shape", "38-60/108", "--right-side"), "on the 7th row, then every 10th row 10 times."),
        (("--shape", "38-60/108", "--right-side"), "Row 1 of these is a right-side row"),
        (("--shape", "60-38/11"), "decrease in each of the next 11 rows."),
        (("--shape", "60-58/1"), "decrease on the next row.\nThat is 1 shaping row of 2 stitches"),
        (("--shape", "60-56/9"), "on the 4th row, then once more 5 rows later."),
        (("--shape", "1-1/1"), "1 stitch stays as it is for 1 row."),
        (("--swatch", "20x28", "--width", "0.5 cm", "--length", "0.4 cm"), "Cast on 1 stitch."),
        (("--swatch", "20x28", "--width", "0.5 cm", "--length", "0.4 cm"), "Work 1 row:"),
        ((*MUG[:-2], "1"), "without the 1 edge stitch that"),
        (("--swatch", "20x28", "--width", "495.1 mm", "--length", "8 cm"), "495 mm (19 1/2 in)"),
        (("--swatch", "22x28/4in", "--width", "1 yd", "--length", "1 yd"), "1 yd (91.4 cm)"),
    ],
)
def test_counts_and_lengths_are_said_as_a_person_says_them(
    arguments: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One stitch, every row, whole millimetres, and no 8375/8382 of a yard."""
    assert run(*arguments) == 0
    assert says in capsys.readouterr().out


def test_yarn_in_yards_for_who_plans_in_inches(capsys: pytest.CaptureFixture[str]) -> None:
    """Yards stand before the metres in an inch plan, and where the ball is in yards."""
    assert run("--swatch", "5x7/1in", "--width", "40 in", "--length", "18 in") == 0
    inches = capsys.readouterr().out
    assert "Yarn: 503 to 613 yd, 460 to 561 m" in inches
    assert run(*MUG, "--ball", "50 g, 125 yd") == 0
    assert " yd, " in capsys.readouterr().out
    assert run(*MUG) == 0
    assert "yd" not in capsys.readouterr().out


def test_evenly_names_its_layout(capsys: pytest.CaptureFixture[str]) -> None:
    """Flat gives both layouts in print, a round its own, decreases theirs."""
    flat = as_json(capsys, "--evenly", "51+4")["evenly"]
    assert {row["layout"] for row in flat} == {"between", "centred"}
    around = as_json(capsys, "--evenly", "88-8", "--round")["evenly"]
    assert around[0]["gaps"] == [9] * 8
    assert around[0]["stitches"] == 80


def test_care(capsys: pytest.CaptureFixture[str]) -> None:
    """The band's fibres get their care, an unknown one a sentence."""
    assert run("--fibre", "100% wool") == 0
    assert "felts" in capsys.readouterr().out
    assert run("--fibre", "moonbeam") == 0
    assert "No fibre known" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "nothing to plan"),
        (("--swatch", "20x28"), "needs --length"),
        (("--width", "24 cm"), "needs a swatch"),
        ((*MUG, "--around", "26 cm"), "not both"),
        ((*MUG, "--weighed", "7 g = 30x40"), "band of the --ball"),
        ((*MUG, "--ease", "10% smaller"), "a --width is finished already"),
    ],
)
def test_too_little_is_told(
    arguments: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is missing is said in one sentence, exit code 2."""
    assert run(*arguments) == 2
    assert says in capsys.readouterr().err


@pytest.mark.parametrize(
    "arguments",
    [
        ("--swatch", "20"), ("--swatch", "0x28"), ("--swatch", "20x28/0cm"), ("--width", "wide"),
        ("--multiple", "0"), ("--ease", "tight"), ("--needle", "-4"), ("--ball", "100 g"),
        ("--weighed", "7 g"), ("--shape", "60"), ("--evenly", "51"), ("--edges", "two"),
        ("--needle", "US 99"), ("--needle", "US 17"), ("--needle", "99 mm"), ("--needle", "US"),
        ("--ball", "100 g, Nm 0"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_with_an_example(
    arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """An option that cannot be read ends with code 2 and says how it is written."""
    with pytest.raises(SystemExit) as ended:
        run(*arguments)
    assert ended.value.code == 2
    assert f"argument {arguments[0]}" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "asks"),
    [
        (("--swatch", "28x20"), "the other way round"),
        (("--swatch", "28x20/4in"), "28 stitches and 20 rows to 4 in: rows are usually more"),
        (("--swatch", "20x90"), "of that shape"),
        (("--swatch", "80x110"), "finer than the thinnest"),
        (("--swatch", "2x3"), "coarser than the thickest"),
        (("--pattern-gauge", "28x20"), "the other way round"),
        (("--edges", "10"), "10 edge stitches"),
        (("--around", "26 cm", "--ease", "60% larger"), "60 % larger"),
        (("--around", "26 cm", "--ease", "10 cm smaller"), "38 % smaller"),
        (("--width", "6 m"), "very large"),
        (("--ball", "999 oz, 62000 yd"), "999 oz is very heavy"),
        (("--ball", "100 g, 8000 m"), "too thick or thin"),
        (("--ball", "100 g, 200 m", "--weighed", "70 g = 30x40"), "Is the weight right?"),
        (("--ball", "100 g, 200 m", "--have", "101"), "101 balls"),
    ],
)
def test_what_no_hand_knits_is_asked(
    arguments: tuple[str, ...], asks: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """No plan of figures that can hardly be meant, until she says that they are."""
    given = dict(zip(PLAIN[::2], PLAIN[1::2], strict=True))
    given |= dict(zip(arguments[::2], arguments[1::2], strict=True))
    if "--around" in given:
        del given["--width"]
    wanted = [word for pair in given.items() for word in pair]
    assert run(*wanted) == 1
    told = capsys.readouterr()
    assert asks in told.err
    assert "--sure" in told.err
    assert not told.out
    assert run(*wanted, "--sure") == 0
    assert "Cast on" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--swatch", "200x2"), "cannot be of one swatch"),
        (("--swatch", "999999999x28"), "999999999 stitches to 10 cm cannot be"),
        (("--swatch", "0.1x0.2"), "cannot be"),
        (("--edges", "200"), "200 edge stitches are more"),
        (("--around", "26 cm", "--ease", "5000%"), "cannot be meant"),
        (("--length", "2000 m"), "longer than anything"),
        (("--ball", "999 oz, 20 yd"), "look at the band again"),
        (("--ball", "100 g, 200 m", "--weighed", "999 oz = 30x40"), "look at the band again"),
    ],
)
def test_what_cannot_be_is_refused(
    arguments: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """What nothing can be is refused in one sentence, however sure she is."""
    given = dict(zip(PLAIN[::2], PLAIN[1::2], strict=True))
    given |= dict(zip(arguments[::2], arguments[1::2], strict=True))
    if "--around" in given:
        del given["--width"]
    wanted = [word for pair in given.items() for word in pair]
    assert run(*wanted, "--sure") == 1
    told = capsys.readouterr()
    assert says in told.err
    assert not told.out


@pytest.mark.parametrize(
    "swatch", ["18x24/4in", "20x28", "22x44", "40x52", "33x44/4in", "6x8", "7x10/4in", "24x24"]
)
def test_gauges_in_print_are_never_asked_about(
    swatch: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """From jumbo to lace, in garter stitch and in plain: what is usual is planned at once."""
    assert run("--swatch", swatch, "--width", "24 cm", "--length", "20 cm") == 0
    assert "Cast on" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("needle", "step"), [("US 7", "5 mm"), ("us7", "5 mm"), ("UK 7", "5 mm"), ("4.5", "5 mm")]
)
def test_needles_by_number(needle: str, step: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A needle is read by its American or old British number as by its millimetres."""
    assert run(*MUG, "--pattern-gauge", "19x27", "--needle", needle) == 0
    assert f"that is {step}" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("ball", "like"),
    [
        ("1000 g, Nm 2", "1000 g, 2000 m"), ("500 g, 500 tex", "500 g, 1000 m"),
        ("500 g; Nm 28/14", "500 g, 1000 m"), ("100 g, 4500 den", "100 g, 200 m"),
        ("100 g, 5000 dtex", "100 g, 200 m"),
    ],
)  # fmt: skip
def test_cones_are_read_by_their_count(
    ball: str, like: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nm is metres per gram, tex grams per kilometre: the balls to buy are those of the length."""
    wanted = ("--swatch", "20x28", "--width", "1 m", "--length", "2 m")
    found = as_json(capsys, *wanted, "--ball", ball)
    assert found == as_json(capsys, *wanted, "--ball", like)


def test_a_size_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    """An inch and a half may be written as it is said."""
    said = as_json(capsys, "--swatch", "20x28", "--width", "nine and a half inches",
                   "--length", "an inch and a half")  # fmt: skip
    assert said["piece"]["cast_on"] == 48
    assert said["piece"]["rows"] == 11


def test_what_cannot_be_worked_out(capsys: pytest.CaptureFixture[str]) -> None:
    """A difference that cannot be shared out is the answer no: code 1 and a sentence."""
    assert run("--shape", "60-37/108") == 1
    assert "shared out" in capsys.readouterr().err


def test_gauges_over_their_own_lengths(capsys: pytest.CaptureFixture[str]) -> None:
    """30 stitches over 13.8 cm and 40 rows over 15 cm are read each over its own."""
    found = as_json(
        capsys, "--swatch", "30/13.8cm x 40/15cm", "--width", "48 cm", "--length", "60 cm",
        "--edges", "2",
    )["piece"]  # fmt: skip
    assert found["cast_on"] == 106
    assert found["rows"] == 160


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--needles", "US 7"), "4.5 mm: US 7, old UK 7."),
        (("--needles", "US 17"), "not settled"),
        (("--needles", "3 mm"), "no agreed US number"),
        (("--head", "2 years"), "WHO"),
        (("--head", "18 months"), "Head of boys: 47.4 cm (18 5/8 in); from"),
        (("--head", "6 weeks"), "Head of boys: between 37.2 cm (14 5/8 in) at 1 month and"),
        (("--head", "5 years"), "Head of boys: 50.7 cm (20 in); from"),
        (("--head", "1 year"), "Head of girls: 44.9 cm"),
        (("--sizes", "crib"), "36 in"),
        (("--sizes", "toddler"), "three-month-old"),
        (("--sizes", "foot length"), "from memory"),
    ],
)
def test_tables_answer_with_their_doubts(
    arguments: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A size is given with its source, and with who disagrees."""
    assert run(*arguments) == 0
    assert says in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--needles", "US 99"), "No table has"),
        (("--needles", "thick"), "No table has"),
        (("--head", "old"), "is no age"),
        (("--head", "9 years"), "five years"),
        (("--sizes", "dragon"), "No size chart"),
    ],
)
def test_what_no_table_has(
    arguments: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """What no table has is told in a sentence, code 1."""
    assert run(*arguments) == 1
    assert says in capsys.readouterr().err


RIB = [*MUG, "--stitch", "2x2 rib"]


def test_a_planned_rib_is_begun_with_its_rows(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Begun from a plan with a stitch pattern, every row says what is worked; else what fits."""
    journal = tmp_path / "j.db"
    assert run(*RIB, "--begin", "Rib sleeve", "--journal", str(journal)) == 0
    with SqliteJournal.open_to_read(journal) as kept:
        state = fold(kept.records(kept.pieces()[0].id))
    rows = [str(course_of(state).where({}, row).instruction) for row in (1, 2, 3)]
    assert rows[0] == rows[2] == "*k2, p2; rep from * to last 2 sts, k2"
    assert rows[1] == "*p2, k2; rep from * to last 2 sts, p2"
    assert (state.name, state.cast_on, str(state.target)) == ("Rib sleeve", 50, "7.9 cm")
    capsys.readouterr()
    assert run(*MUG, "--begin", "Plain", "--journal", str(tmp_path / "k.db")) == 0
    assert "What fits: garter, stockinette" in capsys.readouterr().out


def test_a_planned_pattern_is_printed_and_checked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The pattern is written to a file that the check finds right, and never over another."""
    file = tmp_path / "sleeve.toml"
    shaped = [*PLAIN, "--edges", "2", "--stitch", "seed", "--shape", "51-45/12"]
    assert run(*shaped, "--to", str(file)) == 0
    document = document_of(file.read_text(encoding="utf-8"))
    assert isinstance(document, PatternDocument)
    course = document.course()
    assert not course.problems
    assert [course.where({}, row).after for row in (3, 4, 8, 12, 13)] == [51, 49, 47, 45, 45]
    assert run(*shaped, "--to", str(file)) == 3
    assert "already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([*PLAIN, "--stitch", "moss"], "name seed or double moss"),
        ([*PLAIN, "--stitch", "seed", "--shape", "60-40/10"], "begins with 60 stitches"),
        ([*PLAIN, "--multiple", "6+1", "--stitch", "2x2 rib"], "a multiple of 4 plus 2"),
        ([*PLAIN, "--in-rounds"], "name the stitch pattern"),
        (["--stitch", "garter"], "give a swatch and a size"),
    ],
)
def test_rows_that_cannot_be_written_are_said(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence, nothing begun: a name of two meanings, a wrong shaping, a wrong multiple."""
    assert run(*arguments) in {1, 2}
    assert words in capsys.readouterr().err
