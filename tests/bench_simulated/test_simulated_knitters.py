"""The simulated knitters: the same seed gives the same piece, and their truths hang together."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from fractions import Fraction
from itertools import pairwise
from math import log, sqrt
from pathlib import Path
from statistics import fmean, median
from typing import TYPE_CHECKING

import pytest

from bench.simulated import FAMILIES, Piece, lengths_ar, tension, yarn
from bench.simulated.records import (
    BallJoined,
    Measured,
    NeedleChanged,
    RippedBack,
    RowsDone,
    SessionBegan,
    TargetRow,
    TargetSet,
    TimeLeft,
    Weighed,
    YarnToEnd,
    heights,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

_ROOT = Path(__file__).parent.parent.parent
_ALL = [(name, kind) for name, family in FAMILIES.items() for kind in family.kinds]
_LENGTHS = [(name, kind) for name, kind in _ALL if name in {"ar", "spline"}]
_YARN = FAMILIES["yarn"].kinds
_PACE = FAMILIES["pace"].kinds


def _some(name: str, kind: str, count: int = 6) -> list[Piece]:
    return [FAMILIES[name].piece(kind, seed) for seed in range(count)]


@pytest.mark.parametrize(("name", "kind"), _ALL)
def test_the_same_seed_gives_the_same_piece(name: str, kind: str) -> None:
    """A piece depends on its kind and seed alone, and another seed gives another piece."""
    assert _some(name, kind, 3) == _some(name, kind, 3)
    assert len({piece.did for piece in _some(name, kind, 3)}) == 3


def test_another_process_gives_the_same_pieces() -> None:
    """Nothing depends on the order of a set or on the hash seed of the process."""
    script = (
        "import hashlib; from bench.simulated import FAMILIES;"
        "pieces = [family.piece(kind, 7) for family in FAMILIES.values() for kind in family.kinds];"
        "print(hashlib.sha256(repr(pieces).encode()).hexdigest())"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", script],
            cwd=_ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1


def test_knows_nothing_of_the_program() -> None:
    """The simulators import the standard library and one another, nothing else."""
    for file in (_ROOT / "bench" / "simulated").glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            for name in names:
                inside = name.startswith("bench.simulated")
                assert inside or name.split(".")[0] in sys.stdlib_module_names, f"{file}: {name}"


@pytest.mark.parametrize(("name", "kind"), _ALL)
def test_truths_have_one_entry_for_each_row_and_never_fall(name: str, kind: str) -> None:
    """Heights rise, no row takes negative yarn or time, and each tuple reaches the piece's end."""
    for piece in _some(name, kind):
        truth = piece.truth
        size = len(truth.height_cm_by_row)
        assert size == len(truth.stitches_by_row) == len(truth.grams_by_row)
        assert size == len(truth.seconds_by_row) > piece.rows
        assert len(piece.planned_stitches) == len(piece.planned_kinds) == piece.rows + 1
        assert truth.height_cm_by_row[0] == truth.seconds_by_row[0] == 0.0
        assert all(low <= high for low, high in pairwise(truth.height_cm_by_row))
        assert all(low < high for low, high in pairwise(truth.height_cm_by_row[15:]))
        assert min(truth.grams_by_row) > 0
        assert min(truth.seconds_by_row[1:]) > 0


@pytest.mark.parametrize(("name", "kind"), _ALL)
def test_deeds_follow_one_another(name: str, kind: str) -> None:
    """Time never falls, and told rows and rows ripped back add up to the row of every entry."""
    for piece in _some(name, kind):
        row = 0
        for before, deed in pairwise(piece.did):
            assert before.at <= deed.at + 1e-6
            if isinstance(deed, RowsDone):
                row += deed.count
            if isinstance(deed, RippedBack):
                row -= deed.count
            if not (isinstance(deed, SessionBegan) and name == "pace"):
                assert deed.row == row
        ran_out = name == "yarn" and row < piece.rows
        assert row == piece.rows or ran_out


def test_an_edge_never_lets_a_height_fall() -> None:
    """An edge of 1.5 cm is there after three rows; a hem of 1.5 cm swallows five rows of 0.3."""
    rows = [0.3] * 10
    assert heights(rows, 1.5)[3:5] == pytest.approx((2.4, 2.7))
    assert heights(rows, -1.5)[4:8] == pytest.approx((0, 0, 0.3, 0.6))


@pytest.mark.parametrize(("name", "kind"), _LENGTHS)
def test_the_target_is_reached_at_the_row_that_is_said(name: str, kind: str) -> None:
    """The answer is the first row that is long enough in the state the target is meant in."""
    for piece in _some(name, kind):
        target = next(deed for deed in piece.did if isinstance(deed, TargetSet))
        ratio = piece.truth.washed_ratio if target.state == "washed" else 1.0
        cm = [height * ratio for height in piece.truth.height_cm_by_row]
        assert cm[piece.rows - 1] < target.length.cm <= cm[piece.rows] + 1e-6
        for question in piece.asked:
            assert isinstance(question, TargetRow)
            assert question.answer == piece.rows
            lengths = sum(isinstance(deed, Measured) for deed in piece.did[: question.after])
            assert question.measurements == lengths


@pytest.mark.parametrize(("name", "kind"), _LENGTHS)
def test_mistaken_lengths_are_marked_and_rare(name: str, kind: str) -> None:
    """The marked entries are lengths, and all others lie near the truth in the median."""
    off, marked, lengths = [], 0, 0
    for piece in _some(name, kind, 20):
        assert all(isinstance(piece.did[index], Measured) for index in piece.truth.slips)
        marked += len(piece.truth.slips)
        for index, deed in enumerate(piece.did):
            if isinstance(deed, Measured):
                lengths += 1
                if index not in piece.truth.slips:
                    truth = piece.truth.height_cm_by_row[deed.row]
                    off.append(abs(deed.length.cm - truth))
    assert median(off) < 1.2
    assert marked < lengths * (0.4 if kind == "forgets the edge" else 0.15)


def test_kinds_of_one_seed_share_their_hand() -> None:
    """Twice the tape's noise changes what is read, and nothing of the piece."""
    for seed in range(20):
        calm, loud = (lengths_ar.piece(kind, seed) for kind in ("steady", "tape x2"))
        assert calm.truth.height_cm_by_row == loud.truth.height_cm_by_row
        assert calm.did != loud.did


def test_an_untold_change_is_there_and_untold() -> None:
    """Rows after the change are 3 to 8 % off those before, and no entry speaks of it."""
    untold = lengths_ar.KINDS["untold change"]
    for seed in range(30):
        piece, calm = lengths_ar.piece(untold, seed), lengths_ar.piece("steady", seed)
        told = lengths_ar.piece("needle told", seed)
        row = piece.truth.change_row
        assert row is not None
        assert not any(isinstance(deed, NeedleChanged) for deed in piece.did)
        needles = [deed for deed in told.did if isinstance(deed, NeedleChanged)]
        assert [needle.row for needle in needles] == [row - 1] * len(needles)
        with_change, without = piece.truth.height_cm_by_row, calm.truth.height_cm_by_row
        before = with_change[row - 1] / without[row - 1]
        after = (with_change[row + 9] - with_change[row - 1]) / (
            without[row + 9] - without[row - 1]
        )
        assert before == pytest.approx(1)
        assert after == pytest.approx(piece.truth.change_ratio)
        assert 0.03 <= abs(log(after)) <= 0.08


def _weighings(piece: Piece) -> Iterator[tuple[Weighed, YarnToEnd]]:
    for question in piece.asked:
        deed = piece.did[question.after - 1]
        assert isinstance(question, YarnToEnd)
        assert isinstance(deed, Weighed)
        yield deed, question


@pytest.mark.parametrize("kind", _YARN)
def test_no_yarn_is_lost_or_won(kind: str) -> None:
    """At every weighing, yarn in the piece, on the ball and set aside is what the balls weighed."""
    for piece in _some("yarn", kind, 20):
        for deed, question in _weighings(piece):
            used = sum(piece.truth.grams_by_row[: deed.row + 1])
            kept = used + question.left + question.set_aside
            assert question.used == pytest.approx(used)
            assert kept == pytest.approx(question.given)
            assert question.left > 0
            assert question.set_aside >= 0
            joined = any(isinstance(other, BallJoined) for other in piece.did[: question.after])
            assert joined == (question.set_aside > 0)


@pytest.mark.parametrize("kind", _YARN)
def test_yarn_lasts_exactly_when_there_is_enough(kind: str) -> None:
    """What is needed is all rows to come, bind-off and tail; the ball makes its whole rows."""
    for piece in _some("yarn", kind, 20):
        truth = piece.truth
        end = truth.bind_off_grams + truth.tail_grams
        for deed, question in _weighings(piece):
            ahead = truth.grams_by_row[deed.row + 1 : piece.rows + 1]
            assert question.needed == pytest.approx(sum(ahead) + end)
            assert question.lasts == (question.left >= question.needed)
            made = ahead[: question.whole_rows]
            assert sum(made) <= question.left + 1e-9
            enough = question.whole_rows == len(ahead)
            assert enough or sum(made) + ahead[len(made)] > question.left
            if question.lasts:
                assert piece.did[-1].row == piece.rows


@pytest.mark.parametrize("kind", _YARN)
def test_a_scale_says_its_divisions(kind: str) -> None:
    """What is said is a multiple of the scale's division, and seldom far from the ball's weight."""
    scale = yarn.KINDS[kind].scale
    off = []
    for piece in _some("yarn", kind, 20):
        for deed, question in _weighings(piece):
            assert deed.grams % scale == 0
            off.append(abs(float(deed.grams) - question.left) / float(scale))
    assert max(off) < 0.5 + 5 * 0.15
    assert fmean(off) < 0.4


def test_yarn_both_lasts_and_does_not() -> None:
    """The family has pieces of both answers in every kind of one ball."""
    for kind, variant in yarn.KINDS.items():
        if variant.joined == "no":
            answers = {
                question.lasts
                for piece in _some("yarn", kind, 20)
                for _, question in _weighings(piece)
            }
            assert answers == {True, False}, kind


def test_a_shawl_grows_by_two_every_other_row() -> None:
    """Cast on 5: after an even number of rows n it has n + 5 stitches and made n(n + 12) / 2."""
    for piece in _some("yarn", "shawl"):
        stitches = piece.truth.stitches_by_row
        for row in range(2, piece.rows + 1, 2):
            assert stitches[row] == row + 5
            assert sum(stitches[1 : row + 1]) == row * (row + 12) / 2


def test_a_row_takes_about_four_times_its_width() -> None:
    """Yarn of a stockinette row over its width is 3.8 to 4.2 (Munden's Kw) but for the scatter."""
    for piece in _some("yarn", "straight", 30):
        truth = piece.truth
        cm_per_gram = 30 / truth.tail_grams  # the tail is 30 cm
        width = (truth.grams_by_row[0] * cm_per_gram - 15) / 3  # the cast-on: 3 widths and 15 cm
        row = fmean(truth.grams_by_row[1:]) * cm_per_gram
        assert 0.97 * 3.8 < row / width < 1.03 * 4.2


@pytest.mark.parametrize("kind", _PACE)
def test_time_told_holds_the_knitting_and_the_pauses(kind: str) -> None:
    """The time between two tellings of a sitting is at least the knitting of the rows between."""
    exact = kind == "no pauses"
    for piece in _some("pace", kind):
        for before, deed in pairwise(piece.did):
            if isinstance(deed, RowsDone):
                knitted = piece.truth.seconds_from(before.row, deed.row)
                assert deed.at - before.at >= knitted - 1e-6
                assert not exact or deed.at - before.at == pytest.approx(knitted)
        for question in piece.asked:
            assert isinstance(question, TimeLeft)
            assert piece.did[question.after - 1].row == question.row < piece.rows
            left = piece.truth.seconds_from(question.row, piece.rows)
            assert question.seconds == pytest.approx(left)


def test_rows_are_told_as_the_kind_says() -> None:
    """One by one, by threes but for the end of a sitting, or in bunches of one to eight."""
    counts = {
        kind: [
            deed.count
            for piece in _some("pace", kind)
            for deed in piece.did
            if isinstance(deed, RowsDone)
        ]
        for kind in ("one", "three", "bunches")
    }
    assert set(counts["one"]) == {1}
    assert counts["three"].count(3) > 0.8 * len(counts["three"])
    assert set(counts["three"]) == {1, 2, 3}
    assert set(counts["bunches"]) == set(range(1, 9))


@pytest.mark.parametrize("kind", FAMILIES["tension"].kinds)
def test_a_hand_changes_where_the_truth_says(kind: str) -> None:
    """An honest hand has no row of change; the others change by what is asked, in the mean."""
    percent = tension.KINDS[kind].change_percent
    moved = []
    for piece in _some("tension", kind, 60):
        row, cm = piece.truth.change_row, piece.truth.height_cm_by_row
        if row is None:
            assert percent == 0
            assert piece.truth.change_ratio == 1
            row = piece.rows // 2
        before = cm[row - 1] / (row - 1)
        after = (cm[piece.rows] - cm[row - 1]) / (piece.rows - row + 1)
        moved.append(log(after / before) * (1 if piece.truth.change_ratio >= 1 else -1))
    assert fmean(moved) == pytest.approx(percent / 100, abs=4 * 0.015 / sqrt(60))


def test_spoken_lengths_are_exact() -> None:
    """Inches are read to quarters and eighths, and 4 inches are 10.16 cm."""
    parts = set()
    for piece in _some("ar", "inches", 30):
        for deed in piece.did:
            if isinstance(deed, Measured):
                assert deed.length.unit == "in"
                parts.add(deed.length.value.denominator)
                inches = Fraction(deed.length.cm / 2.54).limit_denominator(8)
                assert inches == deed.length.value
    assert parts == {1, 2, 4, 8}
