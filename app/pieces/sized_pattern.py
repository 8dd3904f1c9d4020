"""A knitted piece written out for every size of a table: what fits, what does not, and the text."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from app.pieces.pattern_cache import document_of
from app.pieces.plan_words import both
from engine.compose.all_sizes import in_brackets, merged
from engine.compose.resized import Knitted, Resized, resized
from engine.compose.written_out import written_out, yarn_used
from engine.compose.written_pattern import pattern_text, quoted
from engine.pattern import Course, PatternDocument, PatternError
from engine.plan.gauge import TEN_CM
from engine.plan.rounding import gauge_to_ten_centimetres, worked_out
from engine.quantities import Length, LengthUnit, number_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from engine.plan.gauge import Gauge
    from engine.plan.size import Ease
    from engine.plan.wearers import Wearer, Wearers

WITHIN: Final = Fraction(1, 40)
"""A finished width may be off by 2.5 %: half the span that eases are given in, 5 to 10 % smaller
(`shared/tables/sizes.toml`; common practice, no source)."""
_FARTHEST: Final = 40
"""Stitches to either side in which the nearest cast-on that fits is looked for (a guess)."""
_TWICE_WEIGHED: Final = 2
"""Scales that show whole grams err twice, before and after."""
_YARN_ERROR: Final = 0.05
"""As for a weighed swatch (`engine.plan.yarn`; common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Fitting:
    """A size that can be knitted: what it goes around, what was wanted and what it measures."""

    wearer: Wearer
    wanted: Length
    width: Length
    made: Resized
    course: Course


@dataclass(frozen=True, slots=True)
class Missing:
    """A size that cannot be reached: the nearest cast-ons that fit, with their widths."""

    wearer: Wearer
    wanted: Length
    nearest: tuple[tuple[int, Length], ...]


@dataclass(frozen=True, slots=True)
class Sizing:
    """How the piece becomes others: for whom, by which gauge, with which ease and seam."""

    wearers: Wearers
    gauge: Gauge
    ease: Ease
    edge_stitches: int = 0
    within: Fraction = WITHIN


def in_sizes(piece: Knitted, sizing: Sizing) -> tuple[Fitting | Missing, ...]:
    """Return every size of a table, smallest first; what cannot be reached is told."""
    return tuple(_one(piece, sizing, wearer) for wearer in sizing.wearers.sizes)


def _one(piece: Knitted, sizing: Sizing, wearer: Wearer) -> Fitting | Missing:
    wanted = sizing.ease.applied(wearer.around)
    exact = sizing.gauge.stitches.number_in(wanted) + sizing.edge_stitches
    near = sorted(
        range(max(1, int(exact) - _FARTHEST), int(exact) + _FARTHEST),
        key=lambda count: (abs(count - exact), -count),
    )
    found: dict[bool, tuple[int, Length]] = {}
    for count in near:
        width = _width(sizing, count, wanted.unit)
        wider = width.cm >= wanted.cm
        close = abs(width.value - wanted.value) <= sizing.within * wanted.value
        if (wider in found and not close) or len(found) > 1:
            continue
        tried = _tried(piece, sizing, count)
        if tried is None:
            continue
        if close:
            return Fitting(wearer, wanted, width, *tried)
        found[wider] = (count, width)
    return Missing(wearer, wanted, tuple(found[wider] for wider in sorted(found)))


def _width(sizing: Sizing, count: int, unit: LengthUnit) -> Length:
    return sizing.gauge.stitches.span(max(0, count - sizing.edge_stitches), unit)


def _tried(piece: Knitted, sizing: Sizing, count: int) -> tuple[Resized, Course] | None:
    """Return the piece over another cast-on, if the reader finds that it adds up."""
    cast_on = piece.places[0].before or 0
    inner = cast_on - sizing.edge_stitches
    if inner < 1 or count <= sizing.edge_stitches:
        return None
    made = resized(piece, count, Fraction(count - sizing.edge_stitches, inner))
    if made is None:
        return None
    head = ['title = "Tried"', f"cast_on = {count}"]
    head += ["in_the_round = true"] if piece.in_round else []
    course = read_course(pattern_text(head, made.sections))
    return (made, course) if course is not None else None


def read_course(text: str, size: str | None = None) -> Course | None:
    """Return the course of a text in a size; None if it cannot be read or does not add up."""
    document = document_of(text)
    if not isinstance(document, PatternDocument):
        return None
    try:
        course = document.course(size)
    except (KeyError, PatternError):
        return None
    return None if course.problems else course


# --- the text ------------------------------------------------------------------------------------


def sized_text(piece: Knitted, sizing: Sizing, sizes: Sequence[Fitting], skill: str = "") -> str:
    """Return the pattern of all sizes that can be knitted."""
    one_size = written_out(piece.state, piece.course).splitlines()
    head_lines = one_size[: one_size.index("")]
    kept = [line for line in head_lines if line.startswith(("title", "needle"))]
    names = [one.wearer.name for one in sizes]
    head = [
        kept[0],
        *([f"sizes = [{', '.join(map(quoted, names))}]"] if len(names) > 1 else []),
        *kept[1:],
        f"gauge = {quoted(_gauge(sizing.gauge))}",
        f"cast_on = {quoted(in_brackets([one.made.cast_on for one in sizes]))}",
        *(["in_the_round = true"] if piece.in_round else []),
        *([f"skill = {quoted(skill)}"] if skill else []),
        *([f"yarn = {quoted(yarn)}"] if (yarn := _yarn(piece, sizes)) else []),
        f"note = {quoted(_note(sizing, sizes))}",
        f"length = [{', '.join(quoted(str(one.made.length)) for one in sizes)}]",
        "",
        "[measurements]",
        *_measurements(piece, sizing, sizes),
    ]
    return pattern_text(head, merged(names, [one.made.sections for one in sizes]))


def _measurements(piece: Knitted, sizing: Sizing, sizes: Sequence[Fitting]) -> Iterator[str]:
    across = "around" if piece.in_round else "width"
    body = [_in_cm(one.wearer.around) for one in sizes]
    yield f"{quoted(f'for a {sizing.wearers.measure} of')} = {quoted(f'{in_brackets(body)} cm')}"
    widths = in_brackets([_in_cm(one.width) for one in sizes])
    yield f"{quoted(across)} = {quoted(f'{widths} cm')}"
    lengths = [number_text(one.made.length.value) for one in sizes]
    yield f'length = "{in_brackets(lengths)} cm"'


def _in_cm(length: Length) -> str:
    return number_text(worked_out(length.to(LengthUnit.CM), fine=True).value)


def _yarn(piece: Knitted, sizes: Sequence[Fitting]) -> str:
    """Return the yarn of every size from what the knitted one took, stitch by stitch."""
    used = yarn_used(piece.state)
    if used is None:
        return ""
    mass, row = used
    loops = sum(place.before or 0 for place in piece.places[:row])
    grams = [mass.grams * _loops(one) / loops for one in sizes]
    scale = math.sqrt(_TWICE_WEIGHED / 12) / mass.grams
    error = math.ceil(100 * math.hypot(_YARN_ERROR, scale))
    return f"{in_brackets([round(one) for one in grams])} g, give or take {error} %"


def _loops(one: Fitting) -> int:
    """Return all stitches of a size, its parts as long as they are to be."""
    ended = {loop.id: row for loop, row in zip(one.course.loops, one.made.ends, strict=True)}
    return sum(one.course.where(ended, row).before or 0 for row in range(1, one.made.rows + 1))


def _gauge(gauge: Gauge) -> str:
    counts = (gauge.stitches.per(TEN_CM), gauge.rows.per(TEN_CM))
    sts, rows = (number_text(gauge_to_ten_centimetres(count)) for count in counts)
    return f"{sts} sts and {rows} rows to 10 cm, {gauge.fabric.value.replace('_', ' ')}"


def _note(sizing: Sizing, sizes: Sequence[Fitting]) -> str:
    ease = in_brackets([_eased(one) for one in sizes])
    return (
        f"Wanted {ease_words(sizing.ease)} than the {sizing.wearers.measure}; in whole repeats the "
        f"difference is {ease} %. Sizes: {sizing.wearers.source}. The wearer's own measure is "
        "better than any table. What was worked to a length grows with the width; counted rows "
        "stay."
    )


def _eased(one: Fitting) -> int:
    """Return by how many per cent a size is larger (negative: smaller) than its wearer."""
    return round(100 * (one.width.cm / one.wearer.around.cm - 1))


def ease_words(ease: Ease) -> str:
    """Return an ease in words: "8% smaller", "2 cm larger"."""
    value = ease.percent if ease.extra is None else ease.extra.value
    which = "smaller" if value < 0 else "larger"
    if ease.extra is None:
        return f"{number_text(abs(value))}% {which}"
    return f"{Length(abs(value), ease.extra.unit)} {which}"


def size_words(one: Fitting | Missing) -> str:
    """Say of a size what is cast on and what it measures, or which cast-ons are the nearest."""
    who = f"{one.wearer.name} ({both(one.wearer.around)}): "
    if isinstance(one, Fitting):
        wide, long = _said(one.width), both(one.made.length)
        ease = f"{abs(_eased(one))}% {'smaller' if _eased(one) < 0 else 'larger'}"
        return f"{who}cast on {one.made.cast_on}, {wide} wide, {ease}, {long} long."
    wanted = _said(one.wanted)
    near = " or ".join(f"{count} for {_said(wide)}" for count, wide in one.nearest)
    if not near:
        return f"{who}not written: over no cast-on near {wanted} do its rows come out."
    return f"{who}not written: {wanted} is not reached; the nearest are {near}."


def _said(length: Length) -> str:
    return both(worked_out(length.to(LengthUnit.CM), fine=True))
