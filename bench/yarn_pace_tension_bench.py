"""Yarn, hours and hand on simulated knitters that somebody else wrote: prints three tables.

The knitters are those of `bench.simulated`; seeds begin at 100,000, which nothing was tuned on.
Run from the checkout:

    python bench/yarn_pace_tension_bench.py [--pieces 40] [--first 100000] [yarn pace tension]
"""

from __future__ import annotations

import argparse
import math
import statistics
import sys
import time
from itertools import accumulate, groupby
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bench.simulated import FAMILIES
from bench.simulated.records import (
    BallJoined,
    Felt,
    Measured,
    Piece,
    RowsDone,
    SessionBegan,
    StitchesCounted,
    SwatchCounted,
    SwatchWeighed,
    TimeLeft,
    Weighed,
    WidthMeasured,
    YarnToEnd,
)
from engine.fabric import Fabric
from engine.facts.work import TURN_STITCHES
from engine.forecast.pace import HoursLeft, RowStamp, hours_left, pace
from engine.forecast.shift import ShiftTest
from engine.forecast.tension import SwatchGauge, WidthSeen, signs, worth_a_word
from engine.forecast.values import LengthReading, RowsLeft
from engine.forecast.yarn import (
    SWATCH_EDGES,
    CannotTell,
    YarnForecast,
    YarnPerRow,
    YarnReading,
    yarn_lasts,
)

if TYPE_CHECKING:
    from collections.abc import Callable

FIRST_SEED = 100_000
SAID_YES = 0.95
_LOOKS = (Measured, WidthMeasured, StitchesCounted)


# --- yarn ---------------------------------------------------------------------------------------


def yarn_answer(piece: Piece, question: YarnToEnd) -> YarnForecast | CannotTell:
    """Ask whether the yarn lasts, told what the knitter had told until the question."""
    said: list[YarnReading] = []
    swatches: dict[str, SwatchWeighed] = {}
    stretch = 0
    for deed in piece.did[: question.after]:
        if isinstance(deed, Weighed):
            said.append(YarnReading(deed.row, float(deed.grams), stretch))
        elif isinstance(deed, BallJoined):
            stretch += 1
            if deed.grams is not None:
                said.append(YarnReading(deed.row, float(deed.grams), stretch))
        elif isinstance(deed, SwatchWeighed):
            swatches[deed.kind] = deed
    kinds = list(dict.fromkeys(("stockinette", *piece.planned_kinds)))
    usual = piece.planned_stitches[max(question.row, 1)]
    done = [
        tuple(accumulate((stitches / usual if of == kind else 0.0) for stitches, of in
                         zip(piece.planned_stitches[1:], piece.planned_kinds[1:], strict=True)))
        for kind in kinds
    ]  # fmt: skip
    last = piece.planned_stitches[-1] / usual

    def work(rows: int) -> tuple[float, ...]:
        if rows <= 0:
            return (0.0,) * len(kinds)
        beyond = max(0, rows - piece.rows) * last
        amounts = [one[min(rows, piece.rows) - 1] for one in done]
        return (amounts[0] + beyond, *amounts[1:])

    known = tuple(
        YarnPerRow(
            float(swatch.grams) / (swatch.stitches * (swatch.rows + SWATCH_EDGES)) * usual, 0.05
        )
        if (swatch := swatches.get(kind)) is not None
        else None
        for kind in kinds
    )
    return yarn_lasts(
        said,
        question.row,
        (piece.rows - question.row,) * 2,
        kept_back_rows=kept_back(piece) * last,
        known=known,
        work=work,
        stretch_now=stretch,
    )


def kept_back(piece: Piece) -> float:
    """Return the kept back in rows of the last row's width, as from `rows_kept_back`."""
    stitch_cm = 0.5
    return 1 + 30 / (4 * piece.planned_stitches[-1] * stitch_cm)


def rows_that_last(piece: Piece, question: YarnToEnd) -> int:
    """Return the true rows that the ball makes with bind-off and end kept back, to the end."""
    rest = question.left - piece.truth.bind_off_grams - piece.truth.tail_grams
    rows = 0
    for grams in piece.truth.grams_by_row[question.row + 1 : piece.rows + 1]:
        rest -= grams
        if rest < 0:
            break
        rows += 1
    return rows


def score_yarn(pieces: int, first: int) -> None:
    """Print by kind how often yes and no were true, and the interval where the yarn ran out."""
    print(f"Yarn, {pieces} pieces of each kind; an interval of 90 %; a yes claims 95 %")
    print(
        f"  {'kind':26}{'asked':>6}{'silent':>8}{'yes':>6}{'true':>7}{'no':>6}{'true':>7}"
        f"{'holds':>8}{'width':>7}  (rows)"
    )
    total = [0.0] * 9
    for kind in FAMILIES["yarn"].kinds:
        count = [0.0] * 9
        for seed in range(first, first + pieces):
            piece = FAMILIES["yarn"].piece(kind, seed)
            for question in piece.asked:
                if isinstance(question, YarnToEnd):
                    _count_yarn(piece, question, count)
        _print_yarn(kind, count)
        total = [a + b for a, b in zip(total, count, strict=True)]
    _print_yarn("all", total)


def _count_yarn(piece: Piece, question: YarnToEnd, count: list[float]) -> None:
    found = yarn_answer(piece, question)
    count[0] += 1
    if isinstance(found, CannotTell):
        count[1] += 1
        return
    rows, end = rows_that_last(piece, question), piece.rows - question.row
    if rows < end:  # else how far the yarn would have reached is not known
        count[6] += found.low <= rows <= found.high
        count[7] += found.high - found.low
        count[8] += 1
    count[2] += found.chance >= SAID_YES
    count[3] += found.chance >= SAID_YES and question.lasts
    count[4] += found.chance < 1 - SAID_YES
    count[5] += found.chance < 1 - SAID_YES and not question.lasts


def _print_yarn(kind: str, count: list[float]) -> None:
    asked, silent, yes, true_yes, no, true_no, held, width, short = count
    short = max(short, 1)
    print(
        f"  {kind:26}{asked:6.0f}{silent / asked:8.2f}{yes:6.0f}{_share(true_yes, yes):>7}"
        f"{no:6.0f}{_share(true_no, no):>7}{held / short:8.3f}{width / short:7.1f}"
    )


def _share(part: float, whole: float) -> str:
    return f"{part / whole:.3f}" if whole else "-"


# --- hours --------------------------------------------------------------------------------------


def hours_answer(piece: Piece, question: TimeLeft) -> HoursLeft | None:
    """Ask how many hours are left; rows and their stitches are known from the pattern."""
    stamps: list[RowStamp] = []
    writer = 0
    for deed in piece.did[: question.after]:
        if isinstance(deed, SessionBegan):
            writer += 1  # in each sitting the program is started anew, and times only from a row on
        elif isinstance(deed, RowsDone):
            stamps.append(RowStamp(deed.row, deed.at, str(writer), deed.row - deed.count + 1))
    stitches = piece.planned_stitches
    usual = stitches[question.row] + TURN_STITCHES
    done = list(accumulate((n + TURN_STITCHES for n in stitches[1:]), initial=0.0))
    speed = pace(stamps, lambda row: done[row] / usual)
    if speed is None:
        return None
    left = piece.rows - question.row
    amount = (done[piece.rows] - done[question.row]) / usual
    return hours_left(RowsLeft(left, left, left, 1.0, None), speed, (amount,) * 3)


def score_pace(pieces: int, first: int) -> None:
    """Print by kind how often the interval of hours held and how wide it was."""
    print(f"Hours left, {pieces} pieces of each kind; an interval of 90 %")
    print(f"  {'kind':26}{'asked':>6}{'silent':>8}{'holds':>8}{'early':>7}{'late':>7}{'width':>8}")
    total = [0.0] * 5
    for kind in FAMILIES["pace"].kinds:
        count = [0.0] * 5
        for seed in range(first, first + pieces):
            piece = FAMILIES["pace"].piece(kind, seed)
            for question in piece.asked:
                if isinstance(question, TimeLeft):
                    _count_hours(question, hours_answer(piece, question), count)
        _print_hours(kind, count)
        total = [a + b for a, b in zip(total, count, strict=True)]
    _print_hours("all", total)


def _count_hours(question: TimeLeft, found: HoursLeft | None, count: list[float]) -> None:
    count[0] += 1
    if found is None:
        count[1] += 1
        return
    truth = question.seconds / 3600
    count[2] += truth < found.low
    count[3] += truth > found.high
    count[4] += (found.high - found.low) / truth


def _print_hours(kind: str, count: list[float]) -> None:
    asked, silent, early, late, width = count
    told = max(asked - silent, 1)
    print(
        f"  {kind:26}{asked:6.0f}{silent / asked:8.2f}{1 - (early + late) / told:8.3f}"
        f"{early / told:7.3f}{late / told:7.3f}{width / told:8.0%}"
    )


# --- the hand -----------------------------------------------------------------------------------


def word_at(piece: Piece) -> tuple[int | None, float]:
    """Return the row at which a word is said that the hand has changed, and how sure it was.

    The test is asked after every look, as the knitter's measurements ask it.
    """
    swatch = next(deed for deed in piece.did if isinstance(deed, SwatchCounted))
    tens = 10 / swatch.over.cm
    gauge = SwatchGauge(Fabric.RESTED, float(swatch.rows) * tens, float(swatch.stitches) * tens)
    test = ShiftTest()
    lengths: list[LengthReading] = [LengthReading(0, 0.0, Fabric.RESTED)]
    felt: list[tuple[int, int]] = []
    for row, deeds in groupby(piece.did, key=lambda deed: deed.row):
        widths: list[WidthSeen] = []
        for deed in deeds:
            match deed:
                case Felt(how=how):
                    felt.append((row, -1 if how == "tight" else 1))
                case Measured(length=length):
                    lengths.append(LengthReading(row, length.cm, Fabric.RESTED))
                case WidthMeasured(stitches=stitches, length=length):
                    widths.append(WidthSeen(row, length.cm, Fabric.RESTED, stitches))
                case StitchesCounted(stitches=number, over=over):
                    counted = WidthSeen(row, over.cm, Fabric.RESTED, float(number), counted=True)
                    widths.append(counted)
                case _:
                    pass
        seen = [sign for sign in signs(lengths, widths, [gauge]) if sign.seen == row]
        if seen:
            test.look(*seen)
            said = test.found(felt)
            if worth_a_word(said):
                return row, said.chance
    return None, 0.0


def score_tension(pieces: int, first: int) -> None:
    """Print the rows for each false word of honest hands, and how soon changed hands are found."""
    print(f"The hand, {pieces} pieces of each kind; looks as the kind says")
    print(
        f"  {'kind':28}{'looks':>6}{'rows':>7}{'false':>6}{'one in':>8}"
        f"{'found':>7}{'median':>8}{'p90':>6}{'sure':>7}  (rows after the change)"
    )
    for kind in FAMILIES["tension"].kinds:
        rows = false = looks = 0
        after: list[float] = []
        sure: list[float] = []
        for seed in range(first, first + pieces):
            piece = FAMILIES["tension"].piece(kind, seed)
            looks += len({d.row for d in piece.did if isinstance(d, _LOOKS)})
            word, chance = word_at(piece)
            change = piece.truth.change_row
            honest = piece.rows if change is None else change - 1
            early = word is not None and word <= honest
            rows += min(word or honest, honest)
            false += early
            if change is not None and not early:
                after.append(math.inf if word is None else word - change + 1)
                sure += [] if word is None else [chance]
        each = f"{rows / false:.0f}" if false else "-"
        print(f"  {kind:28}{looks / pieces:6.1f}{rows:7}{false:6}{each:>8}", end="")
        if after:
            after.sort()
            found = sum(math.isfinite(one) for one in after) / len(after)
            ninety = after[int(0.9 * len(after))]
            print(
                f"{found:7.2f}{statistics.median(after):8.0f}{ninety:6.0f}"
                f"{statistics.fmean(sure or [0.0]):7.2f}",
                end="",
            )
        print()


def main() -> None:
    """Print all tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pieces", type=int, default=40, help="simulated pieces of each kind")
    parser.add_argument("--first", type=int, default=FIRST_SEED, help="the first seed")
    parser.add_argument("tables", nargs="*", default=[], help="yarn, pace, tension")
    chosen = parser.parse_args()
    for name, table in TABLES.items():
        if not chosen.tables or name in chosen.tables:
            started = time.thread_time()
            table(chosen.pieces, chosen.first)
            print(f"  ({time.thread_time() - started:.0f} s of processor time)\n")


TABLES: dict[str, Callable[[int, int], None]] = {
    "yarn": score_yarn,
    "pace": score_pace,
    "tension": score_tension,
}

if __name__ == "__main__":
    main()
