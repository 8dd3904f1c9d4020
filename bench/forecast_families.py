"""Forecasts asked by the simulated knitters of `bench.simulated`: how often the interval holds.

Two families, written by another recipe than the knitters that the forecast was tuned on, each asked
after every length that is measured, with the tape as it is, twice and four times as bad.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from bench.simulated import lengths_ar, lengths_spline
from bench.simulated.records import Measured, NeedleChanged, SwatchCounted, TargetRow, TargetSet
from engine.fabric import Fabric
from engine.forecast.length import doubtful, rows_left
from engine.forecast.values import GaugePrior, LengthReading, PartSpan, RowsForecast, RowsLeft

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from bench.simulated.records import Piece

FAMILIES: Final = (lengths_ar, lengths_spline)
NOISES: Final = (1.0, 2.0, 4.0)
_STATES: Final = {
    "needle": Fabric.ON_NEEDLE,
    "rested": Fabric.RESTED,
    "washed": Fabric.WASHED,
}
_MOST_COUNTED: Final = 6
_SEEDS_A_KIND: Final = 10_000


@dataclass(frozen=True, slots=True)
class Known:
    """What the knitter has told when she asks."""

    readings: tuple[LengthReading, ...]
    parts: tuple[PartSpan, ...]
    row_now: int
    target_cm: float
    target_fabric: Fabric
    priors: tuple[GaugePrior, ...]

    def ask(self) -> RowsForecast:
        """Return the forecast."""
        return rows_left(
            self.readings,
            self.parts,
            self.row_now,
            self.target_cm,
            self.priors,
            target_fabric=self.target_fabric,
        )


@dataclass(slots=True)
class Tally:
    """Counts of answers."""

    asked: int = 0
    answered: int = 0
    held: int = 0
    width: int = 0

    def add(self, found: RowsForecast, truth: int) -> None:
        """Count one answer."""
        self.asked += 1
        if isinstance(found, RowsLeft):
            self.answered += 1
            self.held += found.low <= truth <= found.high
            self.width += found.high - found.low

    def __str__(self) -> str:
        """Return coverage and mean width."""
        if not self.answered:
            return f"{'':14}"
        return f"{self.held / self.answered:7.3f}{self.width / self.answered:7.1f}"


def known(piece: Piece, question: TargetRow) -> Known:
    """Return what has been told before a question, in the terms of the forecast."""
    told = piece.did[: question.after]
    target = next(deed for deed in told if isinstance(deed, TargetSet))
    changes = [deed for deed in told if isinstance(deed, NeedleChanged)]
    begins = [1, *(change.row + 1 for change in changes)]
    names = [*(f"{one.from_mm} mm" for one in changes[:1]), *(f"{one.to_mm} mm" for one in changes)]
    names = names or [""]
    ends = [*(change.row for change in changes), None]
    parts = tuple(
        PartSpan("body", begin, end, name)
        for begin, end, name in zip(begins, ends, names, strict=True)
    )
    readings = tuple(
        LengthReading(
            deed.row,
            deed.length.cm,
            _STATES[deed.state],
            "body",
            next(part.needle for part in parts[::-1] if part.first <= max(1, deed.row)),
        )
        for deed in told
        if isinstance(deed, Measured)
    )
    priors = tuple(
        GaugePrior(10 * float(deed.rows) / deed.over.cm, _STATES[deed.state], needle=names[0])
        for deed in told
        if isinstance(deed, SwatchCounted)
    )
    state = _STATES[target.state]
    return Known(readings, parts, question.row, target.length.cm, state, priors)


def questions(
    pieces: int, first_seed: int, kinds: Iterable[str] = (), noises: Iterable[float] = NOISES
) -> Iterator[tuple[str, str, float, TargetRow, Known]]:
    """Yield family, kind, noise of the tape, question and what is known; no `kinds`: all.

    The kinds of a bad tape are left out: the steady one is asked with every tape. Each kind has
    seeds of its own, so that one odd hand is not in all of them.
    """
    chosen = set(kinds)
    for family in FAMILIES:
        for place, (kind, variant) in enumerate(family.KINDS.items()):
            start = first_seed + place * _SEEDS_A_KIND
            if kind.startswith("tape") or (chosen and kind not in chosen):
                continue
            for noise in noises:
                noisy = replace(variant, tape_times=noise * variant.tape_times)
                for seed in range(start, start + pieces):
                    piece = family.piece(noisy, seed)
                    for asked in piece.asked:
                        if isinstance(asked, TargetRow):
                            yield family.FAMILY, kind, noise, asked, known(piece, asked)


def score_families(pieces: int, first_seed: int) -> None:
    """Print coverage and width by kind, by number of measurements and pooled, and the time."""
    kinds: dict[tuple[str, str, float], Tally] = {}
    spent = []
    for family, kind, noise, asked, told in questions(pieces, first_seed):
        started = time.thread_time()
        found = told.ask()
        spent.append(1000 * (time.thread_time() - started))
        number = min(asked.measurements, _MOST_COUNTED)
        rows = [f"{number} measurements"] if number else ["swatch alone"]
        rows += [kind, "all"] if number else []
        for row in rows:
            tally = kinds.setdefault((family, row, noise), Tally())
            tally.add(found, asked.answer - asked.row)
    print(f"\nRows left, 90 % interval, asked after each measurement of {pieces} pieces a kind")
    print(f"  {'':28}" + "".join(f"{f'tape x{noise:g}':>14}" for noise in NOISES))
    print(f"  {'':28}" + f"{'holds':>7}{'width':>7}" * len(NOISES))
    names = dict.fromkeys((family, row) for family, row, _ in kinds)
    # Family by family: the kinds, then the numbers of measurements, then all of them.
    for name in sorted(names, key=lambda one: (one[0], one[1] == "all", _by_number(one[1]))):
        line = "".join(str(kinds.get((*name, noise), Tally())) for noise in NOISES)
        print(f"  {' '.join(name):28}{line}")
    _print_kinds_together(kinds)
    spent.sort()
    print(f"  one forecast: median {spent[len(spent) // 2]:.2f} ms, ", end="")
    print(f"p95 {spent[math.floor(0.95 * len(spent))]:.2f} ms (processor time, asked once)")


def _by_number(row: str) -> tuple[bool, str]:
    number = row.endswith("measurements") or row == "swatch alone"
    return number, "0" if row == "swatch alone" else row if number else ""


def _print_kinds_together(kinds: dict[tuple[str, str, float], Tally]) -> None:
    line = ""
    for noise in NOISES:
        both = Tally()
        for (_, row, tape), tally in kinds.items():
            if row == "all" and tape == noise:
                both.answered += tally.answered
                both.held += tally.held
                both.width += tally.width
        line += str(both)
    print(f"  {'both families':28}{line}")


def score_honest_doubts(pieces: int, first_seed: int) -> None:
    """Print how often a length is doubted that is no slip, and one that is 10 cm too long."""
    print("\nLengths doubted")
    for noise in NOISES[:2]:
        honest = doubted = longer = 0
        for _, kind, _, _, told in questions(pieces, first_seed, noises=(noise,)):
            if not told.readings or kind == "forgets the edge":
                continue
            *before, new = told.readings
            if not before and not told.priors:
                continue
            more = replace(new, cm=new.cm + 10)
            honest += 1
            doubted += doubtful(before, new, told.priors, told.parts) is not None
            longer += doubtful(before, more, told.priors, told.parts) is not None
        print(
            f"  tape x{noise:g}: as measured, slips included {doubted / honest:.3%} of {honest}; "
            f"10 cm more {longer / honest:.1%}"
        )
