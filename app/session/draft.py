"""What is chosen when a piece is begun, and what follows from it; no Kivy here."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from app import resources
from app.pieces.plan_doubts import doubt_lines
from app.pieces.plan_input import ball, needle
from app.pieces.plan_words import piece_lines
from app.pieces.planned_pattern import pattern_of_plan, stitch_patterns
from app.pieces.values import NewPiece
from app.session.controls import Asks
from engine.fabric import Fabric
from engine.facts.needles import needle_name
from engine.facts.stated_gauge import read_stated_gauge
from engine.facts.swatches import counted_over
from engine.pattern import PatternError
from engine.plan.gauge import Count, Gauge, Swatch
from engine.plan.piece import PiecePlan, plan_piece
from engine.plan.size import Multiple
from engine.plan.tables import read_needles, read_yarns
from engine.plan.wish import Wish
from engine.plan.yarn import Ball
from engine.quantities import Length, LengthUnit

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.pieces.library import Shelved
    from app.session.controls import Answer
    from engine.events import SwatchCounted
    from engine.pattern import Course
    from engine.plan.stitch_patterns import StitchPattern

TEN_CM = Length(Fraction(10), LengthUnit.CM)
"""Over what a swatch is counted."""


@dataclass(frozen=True, slots=True)
class Field:
    """A number or text that is asked for when a piece is begun."""

    key: str
    name: str
    asks: Asks
    least: int = 1


@dataclass(frozen=True, slots=True)
class Draft:
    """What has been chosen so far; `pattern` None is a piece without a pattern."""

    pattern: Shelved | None = None
    size: str | None = None
    values: tuple[tuple[str, Answer], ...] = ()

    @property
    def numbers(self) -> Mapping[str, Answer]:
        """The numbers put in so far, by key."""
        return dict(self.values)

    def with_value(self, key: str, value: Answer) -> Draft:
        """Return the draft with a number put in."""
        return replace(self, values=tuple({**self.numbers, key: value}.items()))

    @property
    def course(self) -> Course | None:
        """The course of the pattern in the size chosen; None where it cannot be read or counted."""
        if self.pattern is None or self.pattern.document is None:
            return None
        try:
            return self.pattern.document.course(self.size)
        except (KeyError, PatternError):
            return None

    @property
    def trouble(self) -> str:
        """Why the pattern chosen cannot be knitted, in a sentence; "" if it can, or none is."""
        if self.ready():
            return ""
        if self.pattern is None:
            return self._unplanned
        if self.pattern.document is None:
            return str(self.pattern.problem)
        try:
            self.pattern.document.course(self.size)
        except PatternError as error:
            return str(error.problem)
        except KeyError as error:
            return str(error.args[0])
        return ""

    def ready(self) -> bool:
        """Whether a piece can be cast on from it."""
        return not self._unplanned if self.pattern is None else self.course is not None

    @property
    def _unplanned(self) -> str:
        """Why the stitch pattern put in cannot be written as rows yet; "" if it can, or none is."""
        try:
            _written(self, "A piece")
        except ValueError as error:
            return str(error)
        return ""


def fields_of(draft: Draft, names: Mapping[str, str]) -> tuple[Field, ...]:
    """Return what can be put in; `names` by key."""
    keys = [("stitches", Asks.NUMBER), ("rows", Asks.NUMBER)]
    keys += [("width", Asks.LENGTH), ("length", Asks.LENGTH)]
    if draft.pattern is None:
        keys += [("stitch", Asks.TEXT), ("cast_on", Asks.NUMBER)]
    keys += [("needle", Asks.TEXT), ("ball", Asks.TEXT), ("lot", Asks.TEXT), ("name", Asks.TEXT)]
    return tuple(Field(key, names[key], asks) for key, asks in keys)


def wrong_with(key: str, text: str) -> str:
    """Return in a sentence why a text cannot be put in; "" if it can."""
    try:
        if key == "needle":
            needle(text)
        elif key == "ball":
            ball(text)
        elif key == "stitch":
            stitch_patterns().named(text)
    except ValueError as error:
        return str(error)
    return ""


def plan_of(draft: Draft) -> tuple[str, ...]:
    """Return the planner's answer in words, as far as swatch and size are known; else nothing.

    What no hand knits is asked about first: she has the numbers before her and can put them right.
    """
    try:
        wish = _wish_of(draft)
        if wish is None:
            return ()
        lines = (*doubt_lines(wish), *piece_lines(_planned(wish), wish))
        stitch = _stitch(draft)
    except ValueError as error:
        return (str(error),)
    if stitch is None:
        return lines
    return (*lines, draft.trouble or f"Its rows are written in {stitch.name}.")


def sums_of(draft: Draft) -> tuple[int, int] | None:
    """Return the stitches and rows of the plan; None as long as they cannot be worked out."""
    try:
        wish = _wish_of(draft)
        if wish is None:
            return None
        plan = _planned(wish)
    except ValueError:
        return None
    return plan.cast_on.stitches, plan.length.rows


def _planned(wish: Wish) -> PiecePlan:
    """Return the plan for a wish; ValueError, with a sentence, if there is none."""
    return plan_piece(
        wish,
        read_yarns(resources.text("shared/tables/yarn_categories.toml")),
        read_needles(resources.text("shared/tables/needles.toml")),
    )


def _wish_of(draft: Draft) -> Wish | None:
    """Return what is wished for; None as long as swatch or size is not known."""
    numbers, course = draft.numbers, draft.course
    stitches, rows = numbers.get("stitches"), numbers.get("rows")
    width = numbers.get("width")
    length = numbers.get("length") or (course.target if course is not None else None)
    if not isinstance(stitches, int) or not isinstance(rows, int):
        return None
    if not isinstance(width, Length) or not isinstance(length, Length):
        return None
    gauge = Gauge(Count(Fraction(stitches), TEN_CM), Count(Fraction(rows), TEN_CM), Fabric.WASHED)
    size, run = numbers.get("needle"), numbers.get("ball")
    return Wish(
        Swatch(gauge, None),
        width,
        length,
        _multiple(draft),
        pattern_gauge=_stated(draft),
        needle_mm=needle(str(size)) if size is not None else None,
        ball=Ball(*ball(str(run)), lot=str(numbers.get("lot", ""))) if run is not None else None,
    )


def _stated(draft: Draft) -> Gauge | None:
    """Return the gauge that the pattern states, if it is one of washed stitches and rows."""
    if draft.pattern is None or draft.pattern.document is None:
        return None
    stated = read_stated_gauge(draft.pattern.document.gauge or "")
    if stated is None or stated.fabric is not Fabric.WASHED:
        return None
    stitches, rows = stated.stitches_per_10cm, stated.rows_per_10cm
    if stitches is None or rows is None:
        return None
    return Gauge(Count(stitches, TEN_CM), Count(rows, TEN_CM), Fabric.WASHED)


def _multiple(draft: Draft) -> Multiple | None:
    if draft.pattern is None:
        stitch = _stitch(draft)
        return stitch.multiple() if stitch is not None else None
    if draft.pattern.document is None:
        return None
    stated = draft.pattern.document.pieces[0].multiple
    return Multiple(*stated) if stated is not None else None


def _stitch(draft: Draft) -> StitchPattern | None:
    """Return the stitch pattern put in; ValueError, with a sentence, if it is none."""
    name = draft.numbers.get("stitch")
    return stitch_patterns().named(str(name)) if name and draft.pattern is None else None


def _written(draft: Draft, title: str) -> str | None:
    """Return the plan as a pattern; None without a stitch pattern, ValueError if it fits not."""
    stitch = _stitch(draft)
    if stitch is None:
        return None
    wish = _wish_of(draft)
    if wish is None:
        raise ValueError(f"To write {stitch.name} as rows, put in your swatch, width and length.")
    plan, put_in = _planned(wish), draft.numbers.get("cast_on")
    if isinstance(put_in, int):
        plan = replace(plan, cast_on=replace(plan.cast_on, stitches=put_in))
    return pattern_of_plan(title, plan, wish, stitch)


def new_piece_of(
    draft: Draft, *, plain_name: str, taken: Sequence[str], count_every: int
) -> NewPiece:
    """Return the piece to cast on; a name that is `taken` already gets a number."""
    numbers, course = draft.numbers, draft.course
    title = draft.pattern.title if draft.pattern is not None else plain_name
    name = str(numbers.get("name", "")) or (f"{title}, {draft.size}" if draft.size else title)
    again = 2
    unique = name
    while unique in taken:
        unique, again = f"{name} {again}", again + 1
    length = numbers.get("length")
    target = course.target if course is not None else length if isinstance(length, Length) else None
    text = draft.pattern.text if draft.pattern is not None else _written(draft, unique)
    return NewPiece(
        name=unique,
        project=title if draft.pattern is not None else "",
        pattern=text,
        size=draft.size,
        cast_on=course.cast_on if course is not None else _plain_cast_on(draft),
        target=target,
        count_every=count_every,
        swatch=_swatch_of(draft),
        lot=str(numbers.get("lot", "")),
    )


def _plain_cast_on(draft: Draft) -> int | None:
    """Return the cast-on put in for a piece without a pattern, else the one the plan shows."""
    put_in = draft.numbers.get("cast_on")
    if isinstance(put_in, int):
        return put_in
    try:
        wish = _wish_of(draft)
        if wish is None:
            return None
        return _planned(wish).cast_on.stitches
    except ValueError:
        return None


def _swatch_of(draft: Draft) -> tuple[SwatchCounted, ...]:
    """Return the counts of the swatch, to be kept with the piece."""
    values = (draft.numbers.get(key) for key in ("stitches", "rows"))
    stitches, rows = (count if isinstance(count, int) else None for count in values)
    if stitches is None and rows is None:
        return ()
    named = draft.numbers.get("needle")
    thick = needle_name(None, str(named)) if named is not None else ""
    return (counted_over(stitches, rows, TEN_CM, Fabric.WASHED, thick),)
