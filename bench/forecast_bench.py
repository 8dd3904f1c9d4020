"""How honest the forecasts are, and how fast: prints one table per question.

The estimator's few figures were chosen on `simulated_knitters` and `simulated_hands`, on seeds
below 100,000. The tables here are of seeds from 1,000,000 on, those by family of knitters written
without a look at the estimator, on which nothing was chosen. Run from the checkout:

    python bench/forecast_bench.py [--pieces 1000]
"""

from __future__ import annotations

import argparse
import math
import statistics
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bench.forecast_families import score_families, score_honest_doubts
from bench.line import Interval, fit_line
from bench.simulated_knitters import (
    Kind,
    Piece,
    TensionPiece,
    simulate,
    simulate_tension,
    simulate_yarn,
)
from engine.fabric import Fabric
from engine.forecast.length import doubtful, rows_left
from engine.forecast.tension import (
    Hand,
    TensionLook,
    combine,
    row_look,
    tension,
    width_look,
)
from engine.forecast.values import GaugePrior, LengthReading, PartSpan, RowsForecast, RowsLeft
from engine.forecast.yarn import CannotTell, YarnReading, yarn_lasts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

FIRST_SEED = 1_000_000
FIRST_SEED_OF_FAMILIES = 3_000_000
HONEST_RULER_CM = 0.5


# --- the three ways to tell the rows left -------------------------------------------------------


def readings_of(piece: Piece) -> list[LengthReading]:
    """Return a simulated knitter's measurements as the estimator takes them."""
    found = []
    for reading in piece.readings:
        stretch = next(s for s in reversed(piece.stretches) if s.first <= max(1, reading.row))
        found.append(
            LengthReading(reading.row, reading.cm, reading.fabric, stretch.part, stretch.needle)
        )
    return found


def priors_of(piece: Piece) -> list[GaugePrior]:
    """Return the swatch, counted before and after its wash; it was of the body's stitch."""
    if piece.swatch is None:
        return []
    return [
        GaugePrior(piece.swatch.rested, Fabric.RESTED, part="body"),
        GaugePrior(piece.swatch.washed, Fabric.WASHED, part="body"),
    ]


def ours(piece: Piece) -> RowsForecast:
    """Ask Walesong."""
    return rows_left(
        readings_of(piece),
        [PartSpan(s.part, s.first, s.last, s.needle) for s in piece.stretches],
        piece.row_now,
        piece.target_cm,
        priors_of(piece),
        target_fabric=piece.target_fabric,
    )


def by_ruler(piece: Piece) -> tuple[float, float] | None:
    """Length so far over rows, the ruler honest to half a centimetre."""
    if not piece.readings or piece.readings[-1].cm <= HONEST_RULER_CM:
        return None
    last = piece.readings[-1]
    low, high = (
        last.row * piece.target_cm / (last.cm + error) - piece.row_now
        for error in (HONEST_RULER_CM, -HONEST_RULER_CM)
    )
    return max(0.0, low), max(0.0, high)


def by_fieller(piece: Piece) -> tuple[float, float] | None:
    """Fit a line through the measurements alone, and read it backwards at 90 %."""
    rows = [reading.row for reading in piece.readings]
    if len(set(rows)) < 3:
        return None
    line = fit_line(rows, [reading.cm for reading in piece.readings])
    found = line.inverse_prediction(piece.target_cm, 0.9)
    if not isinstance(found, Interval):
        return None
    return max(0.0, found.low - piece.row_now), max(0.0, found.high - piece.row_now)


@dataclass(slots=True)
class Score:
    """Counts of one way on one kind of knitter."""

    asked: int = 0
    answered: int = 0
    early: int = 0
    late: int = 0
    width: float = 0.0
    stretch: list[float] = field(default_factory=list)
    """How many times wider each interval would have to be to hold the truth."""

    def add(self, truth: int, interval: tuple[float, float] | None) -> None:
        """Count one answer (None: it would not say)."""
        self.asked += 1
        if interval is None:
            return
        low, high = interval
        self.answered += 1
        # A row is whole: an interval that ends at 7.6 is read as up to row 8.
        self.early += truth < math.floor(low)
        self.late += truth > math.ceil(high)
        self.width += high - low
        # ... and so takes half a row more room at both ends.
        half = (high - low + 1) / 2
        self.stretch.append(abs(truth - (high + low) / 2) / half)

    @property
    def coverage(self) -> float:
        """Share of answers that hold the truth."""
        return 1 - (self.early + self.late) / max(1, self.answered)

    @property
    def mean_width(self) -> float:
        """Mean width of the interval, in rows."""
        return self.width / max(1, self.answered)

    @property
    def honest_width(self) -> float:
        """Mean width if all intervals were stretched until nine in ten hold the truth."""
        if not self.stretch:
            return math.nan
        ordered = sorted(self.stretch)
        return (self.mean_width + 1) * ordered[math.ceil(0.9 * len(ordered)) - 1] - 1


def score_rows(pieces: int) -> None:
    """Print coverage and width of the rows-left interval by kind and pooled."""
    print(f"Rows left, 90 % interval, {pieces} simulated pieces of each kind")
    print(
        f"  {'kind':18}{'answered':>9}{'coverage':>9}{'too early':>10}{'too late':>9}"
        f"{'width':>7}   (rows)"
    )
    pooled = Score()
    same: dict[str, Score] = {"Walesong": Score(), "the ruler": Score(), "Fieller": Score()}
    for kind in Kind:
        score = Score()
        for seed in range(FIRST_SEED, FIRST_SEED + pieces):
            piece = simulate(kind, seed)
            answer = ours(piece)
            mine = (answer.low, answer.high) if isinstance(answer, RowsLeft) else None
            score.add(piece.rows_left, mine)
            pooled.add(piece.rows_left, mine)
            ruler, fieller = by_ruler(piece), by_fieller(piece)
            if mine and ruler and fieller:
                for name, interval in zip(same, (mine, ruler, fieller), strict=True):
                    same[name].add(piece.rows_left, interval)
        _print_score(str(kind), score)
    _print_score("pooled", pooled)
    print(
        "\nBeside other ways, on the pieces where all three say something "
        f"({same['Walesong'].answered} of {pooled.asked})"
    )
    print(f"  {'':18}{'coverage':>9}{'width':>7}{'width if stretched to 90 %':>28}")
    for name, score in same.items():
        print(f"  {name:18}{score.coverage:9.3f}{score.mean_width:7.2f}{score.honest_width:28.2f}")


def _print_score(name: str, score: Score) -> None:
    print(
        f"  {name:18}{score.answered / score.asked:9.3f}{score.coverage:9.3f}"
        f"{score.early / max(1, score.answered):10.3f}{score.late / max(1, score.answered):9.3f}"
        f"{score.mean_width:7.1f}"
    )


# --- measurements that cannot be ---------------------------------------------------------------


def score_doubts(pieces: int) -> None:
    """Print how often a true length is doubted, and a slip of the tongue is let pass."""
    asked = doubted = slips = passed = 0
    for kind in Kind:
        for seed in range(FIRST_SEED, FIRST_SEED + pieces // 4):
            piece = simulate(kind, seed)
            known = readings_of(piece)
            if len(known) < 2:
                continue
            parts = [PartSpan(s.part, s.first, s.last, s.needle) for s in piece.stretches]
            asked += 1
            doubted += doubtful(known[:-1], known[-1], priors_of(piece), parts) is not None
            for teen in range(13, 20):
                if abs(known[-1].cm - teen) <= 0.5:
                    tens = (teen - 10) * 10.0
                    old = known[-1]
                    slip = LengthReading(old.row, tens, old.fabric, old.part, old.needle)
                    slips += 1
                    passed += doubtful(known[:-1], slip, priors_of(piece), parts) is None
    print("\nMeasurements held against the others")
    print(f"  true lengths asked about   {doubted} of {asked} ({doubted / asked:.3%})")
    print(f"  teens heard as tens passed {passed} of {slips}")


# --- yarn ---------------------------------------------------------------------------------------


def score_yarn(pieces: int) -> None:
    """Print the reliability of the chance that the yarn lasts, in ten bins."""
    bins = [[0, 0, 0.0] for _ in range(10)]
    silent, brier = 0, 0.0
    for seed in range(FIRST_SEED, FIRST_SEED + pieces):
        piece = simulate_yarn(seed)
        needed = piece.rows_whole - piece.row_now
        answer = yarn_lasts(
            [YarnReading(w.row, w.grams) for w in piece.weighings],
            piece.row_now,
            (needed, needed),
            resolution_g=piece.resolution_g,
            kept_back_rows=piece.bind_off_rows,
        )
        if isinstance(answer, CannotTell):
            silent += 1
            continue
        found = bins[min(9, int(10 * answer.chance))]
        found[0] += 1
        found[1] += piece.lasts
        found[2] += answer.chance
        brier += (answer.chance - piece.lasts) ** 2
    answered = pieces - silent
    print(f"\nChance that the yarn lasts, {pieces} balls ({silent} unanswered)")
    print(f"  {'said':>12}{'balls':>8}{'mean said':>11}{'lasted':>9}{'+-':>7}")
    off = 0.0
    for place, (count, lasted, said) in enumerate(bins):
        if not count:
            continue
        share, mean = lasted / count, said / count
        off += abs(share - mean) * count / answered
        error = math.sqrt(max(mean * (1 - mean), 1e-4) / count)
        span = f"{place / 10:.1f} to {(place + 1) / 10:.1f}"
        print(f"  {span:>12}{count:8}{mean:11.3f}{share:9.3f}{error:7.3f}")
    print(f"  Brier score {brier / answered:.4f}, mean distance of said and seen {off:.4f}")


# --- tension ------------------------------------------------------------------------------------


def looks_of(piece: TensionPiece) -> Iterator[TensionLook]:
    """Give the looks at a simulated strip, one by one."""
    expected = piece.stitches / piece.stitches_to_10_cm * 10
    for check in piece.checks:
        rows = row_look(
            check.row - check.rows_since + 1, check.row, check.cm_since, piece.rows_to_10_cm
        )
        width = width_look(check.row, check.width_cm, expected, 10 / piece.rows_to_10_cm)
        yield from combine((rows, width))


def alarms(piece: TensionPiece) -> tuple[int | None, int | None]:
    """Return the rows where the chart signals and where a word is said, None: never."""
    seen: list[TensionLook] = []
    chart = word = None
    for look in looks_of(piece):
        seen.append(look)
        found = tension(seen)
        if found is None:
            continue
        if chart is None and found.hand is not Hand.EVEN:
            chart = look.row
        if found.worth_a_word:
            word = look.row
            break
    return chart, word


def score_tension(pieces: int) -> None:
    """Print false alarms in 500 rows and how soon a changed hand is found."""
    every = 10
    print(f"\nA changed hand, looked at (rows and width) every {every} rows, {pieces} strips each")
    even = [
        alarms(simulate_tension(seed, rows=500, drift=0.0, drift_from_row=None))
        for seed in range(FIRST_SEED, FIRST_SEED + pieces)
    ]
    rows = sum(chart or 500 for chart, _ in even)
    false = sum(chart is not None for chart, _ in even)
    words = sum(word is not None for _, word in even)
    each = f"one in {rows / false:.0f} rows" if false else "none"
    print(f"  even hand, 500 rows: chart {each}, words {words} in {500 * pieces} rows")
    print(
        f"  {'change':>8}{'chart: median':>15}{'mean':>7}{'p90':>6}{'found':>8}"
        f"{'word: median':>14}{'said':>7}   (rows after the change)"
    )
    for drift in (0.05, -0.05, 0.08, -0.08, 0.12):
        at = 100
        found = [
            alarms(simulate_tension(seed, rows=at + 200, drift=drift, drift_from_row=at))
            for seed in range(FIRST_SEED, FIRST_SEED + pieces)
        ]
        later = sorted(chart - at for chart, _ in found if chart and chart > at)
        already = sum(1 for chart, _ in found if chart and chart <= at)
        said = sorted(word - at for _, word in found if word and word > at)
        print(
            f"  {drift:+8.0%}{statistics.median(later):15.0f}{statistics.mean(later):7.1f}"
            f"{later[int(0.9 * len(later))]:6}{len(later) / (pieces - already):8.3f}"
            f"{statistics.median(said):14.0f}{len(said) / pieces:7.3f}"
        )


# --- time ---------------------------------------------------------------------------------------


def time_forecasts(pieces: int) -> None:
    """Print how long one forecast takes."""
    for name, chosen in (
        ("3 to 6 measurements, swatch", Kind.STEADY),
        ("two parts", Kind.RIB_THEN_BODY),
    ):
        asked = [simulate(chosen, seed) for seed in range(FIRST_SEED, FIRST_SEED + pieces)]
        _time(name, [lambda piece=piece: ours(piece) for piece in asked])  # type: ignore[misc]
    many = [
        LengthReading(row, round(2 * row * 0.36) / 2, Fabric.RESTED, "body")
        for row in range(5, 205, 5)
    ]
    span = [PartSpan("body", 1, None)]
    prior = GaugePrior(28, Fabric.WASHED)
    _time("40 measurements", [lambda: rows_left(many, span, 205, 90.0, prior)] * 20)


def _time(name: str, jobs: Sequence[Callable[[], object]]) -> None:
    jobs[0]()
    spent = []
    for job in jobs:
        started = time.thread_time()
        job()
        spent.append(1000 * (time.thread_time() - started))
    spent.sort()
    print(
        f"  {name:30} median {statistics.median(spent):5.2f} ms, "
        f"p95 {spent[int(0.95 * len(spent))]:5.2f} ms"
    )


def main() -> None:
    """Print all tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pieces", type=int, default=1000, help="simulated pieces of each kind")
    pieces = parser.parse_args().pieces
    score_rows(pieces)
    score_doubts(pieces)
    few = max(10, pieces // 25)
    score_families(few, FIRST_SEED_OF_FAMILIES)
    score_honest_doubts(max(5, few // 2), FIRST_SEED_OF_FAMILIES)
    score_yarn(5 * pieces)
    score_tension(max(50, pieces // 4))
    print("\nOne forecast (processor time)")
    time_forecasts(min(pieces, 300))


if __name__ == "__main__":
    main()
