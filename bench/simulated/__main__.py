"""Prints what the truths of the simulated knitters look like: ``python -m bench.simulated [N]``.

N pieces of each kind (40 unless said). Every cell is lowest, median, highest.
"""

from __future__ import annotations

import sys
from statistics import fmean, median
from typing import TYPE_CHECKING

from bench.simulated import FAMILIES, Piece
from bench.simulated.records import Measured, TimeLeft, Weighed, YarnToEnd

if TYPE_CHECKING:
    from collections.abc import Callable


def _height(piece: Piece) -> float:
    return piece.truth.height_cm_by_row[piece.rows]


def _row_spread(piece: Piece) -> float:
    """Return the rows' greatest height over their lowest, in averages of ten rows, in %."""
    cm = piece.truth.height_cm_by_row[3 : piece.rows + 1]
    tens = [b - a for a, b in zip(cm, cm[10:], strict=False)]
    return 100 * (max(tens) / min(tens) - 1) if tens and min(tens) > 0 else 0.0


def _tape(piece: Piece) -> float:
    """Return the mean distance of a length from the truth (cm)."""
    cm = piece.truth.height_cm_by_row
    off = [abs(deed.length.cm - cm[deed.row]) for deed in piece.did if isinstance(deed, Measured)]
    return fmean(off) if off else 0.0


def _count(kind: type) -> Callable[[Piece], float]:
    return lambda piece: sum(isinstance(deed, kind) for deed in piece.did)


def _needed(piece: Piece) -> float:
    truth = piece.truth
    return truth.grams_used(piece.rows) + truth.bind_off_grams + truth.tail_grams


def _enough(piece: Piece) -> float:
    """Return all balls begun over what the piece needs, in %."""
    last = [question for question in piece.asked if isinstance(question, YarnToEnd)][-1]
    return 100 * last.given / _needed(piece)


def _lasts(piece: Piece) -> float:
    """Return the share of weighings after which the ball lasts, in %."""
    return 100 * fmean(
        question.lasts for question in piece.asked if isinstance(question, YarnToEnd)
    )


def _hours(piece: Piece) -> float:
    return piece.truth.seconds_from(0, piece.rows) / 3600


def _clock(piece: Piece) -> float:
    return piece.did[-1].at / 3600


def _questions(piece: Piece) -> float:
    return sum(isinstance(question, TimeLeft) for question in piece.asked)


def _rows(piece: Piece) -> float:
    return piece.rows


def _change_row(piece: Piece) -> float:
    return piece.truth.change_row or 0


def _change(piece: Piece) -> float:
    return 100 * (piece.truth.change_ratio - 1)


_LENGTHS: dict[str, Callable[[Piece], float]] = {
    "rows": _rows,
    "height cm": _height,
    "ten rows, spread %": _row_spread,
    "lengths": _count(Measured),
    "off truth cm": _tape,
}
_COLUMNS: dict[str, dict[str, Callable[[Piece], float]]] = {
    "ar": _LENGTHS,
    "spline": _LENGTHS,
    "yarn": {
        "rows": _rows,
        "needed g": _needed,
        "balls / needed %": _enough,
        "weighings": _count(Weighed),
        "lasts %": _lasts,
    },
    "pace": {
        "rows": _rows,
        "knitting h": _hours,
        "by the clock h": _clock,
        "questions": _questions,
    },
    "tension": {
        "rows": _rows,
        "change row": _change_row,
        "change %": _change,
        "entries": lambda piece: len(piece.did),
        "off truth cm": _tape,
    },
}


def main(pieces: int) -> None:
    """Print one table for each family."""
    for name, family in FAMILIES.items():
        columns = _COLUMNS[name]
        print(f"\n{name:<28}" + "".join(f"{title:>24}" for title in columns))
        for kind in family.kinds:
            made = [family.piece(kind, seed) for seed in range(pieces)]
            cells = []
            for figure in columns.values():
                values = [figure(piece) for piece in made]
                cells.append(f"{min(values):.4g} {median(values):.4g} {max(values):.4g}")
            print(f"{kind:<28}" + "".join(f"{cell:>24}" for cell in cells))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
