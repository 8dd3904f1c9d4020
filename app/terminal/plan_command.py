"""`walesong plan`: from a swatch and a size to cast-on, rows, what to read on the way, and yarn."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app import resources
from app.pieces import plan_doubts
from app.pieces import plan_input as read
from app.pieces import plan_words as words
from app.pieces.journal_files import default_journal
from app.pieces.planned_pattern import pattern_of_plan, stitch_patterns
from app.pieces.values import NewPiece
from app.session.clock import SystemClock
from app.session.conversation import Conversation
from app.terminal import plan_lookup as lookup
from app.terminal.common_options import journal_of, option_of
from engine.commands import Source
from engine.compose.planned import said_length
from engine.fabric import Fabric
from engine.facts.swatches import swatch_events
from engine.journal.errors import JournalError
from engine.journal.sqlite import SqliteJournal
from engine.plan.gauge import Swatch
from engine.plan.piece import PiecePlan, plan_piece
from engine.plan.shaping import (
    Counting,
    EvenSpacing,
    Layout,
    Rate,
    shaping_rate,
    space_decreases,
    space_increases,
)
from engine.plan.size import RowParity
from engine.plan.tables import care_of, read_care, read_needles, read_yarns
from engine.plan.wish import WeighedSwatch, Wish
from engine.plan.yarn import Ball

if TYPE_CHECKING:
    from fractions import Fraction

    from engine.plan.size import Multiple
    from engine.quantities import Length

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

_LOOKUPS = {
    "needles": lookup.needle_lines,
    "head": lookup.head_lines,
    "sizes": lookup.size_lines,
}
_NEED_A_PLAN = {"a piece is begun": ("begin",), "rows are written": ("stitch", "in_rounds", "to")}
_EXAMPLE = """\
example: a sleeve for a mug, 24 cm around when sewn, 8 cm high, in rib of 4 plus 2
  walesong plan --swatch 20x28 --unwashed 20x29 --width "24 cm" --length "8 cm" \\
                --multiple 4+2 --edges 2 --even-rows --ball "100 g, 200 m" \\
                --stitch "2x2 rib" --begin "Rib sleeve"
  walesong plan --shape 60-38/108
  walesong plan --evenly 51+4
"""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "plan",
        description=(
            "Work out a piece from a swatch and a size: stitches to cast on, what they really "
            "measure, rows, what the ruler should read before the wash, how the swatch compares "
            "with a pattern's gauge, and yarn. Or share shaping out over rows or along a row."
        ),
        epilog=_EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    swatch = parser.add_argument_group("swatch")
    swatch.add_argument(
        "--swatch", type=option_of(read.gauge), metavar="STSxROWS[/LENGTH]",
        help="washed swatch, stitches by rows over 10 cm or the length named (20x28, 18x24/4in)",
    )  # fmt: skip
    swatch.add_argument(
        "--unwashed", type=option_of(read.gauge), metavar="STSxROWS[/LENGTH]",
        help="the same swatch, counted before its wash",
    )  # fmt: skip
    swatch.add_argument(
        "--pattern-gauge", type=option_of(read.gauge), metavar="STSxROWS[/LENGTH]",
        help="what the pattern asks for",
    )  # fmt: skip
    swatch.add_argument(
        "--needle",
        type=option_of(read.needle),
        metavar="SIZE",
        help='needle of the swatch: "4.5 mm", "US 7"',
    )
    size = parser.add_argument_group("size")
    size.add_argument(
        "--width", type=option_of(read.length), help="finished width, seams not counted"
    )
    size.add_argument(
        "--around", type=option_of(read.length), help="what the piece goes around, instead"
    )
    size.add_argument(
        "--ease", type=option_of(read.ease), help='"5%% smaller", "5 cm larger" than --around'
    )
    size.add_argument("--length", type=option_of(read.length), help="finished length")
    size.add_argument(
        "--multiple", type=option_of(read.multiple), metavar="N[+M]", help="stitch multiple"
    )
    size.add_argument(
        "--edges", type=_count, default=0, metavar="N", help="edge stitches that the seam takes"
    )
    size.add_argument("--even-rows", action="store_true", help="an even number of rows")
    yarn = parser.add_argument_group("yarn")
    yarn.add_argument(
        "--ball", type=option_of(read.ball), metavar='"100 g, 200 m"',
        help='band of a ball; of a cone also its count: "500 g, Nm 7"',
    )  # fmt: skip
    yarn.add_argument(
        "--weighed", type=option_of(read.weighed), metavar='"7 g = 30x40"',
        help="weight of a swatch of so many stitches by rows",
    )  # fmt: skip
    yarn.add_argument("--have", type=_count, default=0, metavar="N", help="balls in hand")
    yarn.add_argument("--lot", action="append", default=[], help="dye lot of a ball; repeat it")
    yarn.add_argument("--fibre", help='what the band says: "75%% wool, 25%% polyamide"')
    shape = parser.add_argument_group("shaping")
    shape.add_argument(
        "--shape",
        type=option_of(read.shaping),
        metavar="FROM-TO/ROWS",
        help="stitches over rows: 60-38/108",
    )
    shape.add_argument(
        "--per-row", type=_count, default=2, metavar="N", help="stitches per shaping row (2)"
    )
    shape.add_argument(
        "--next-row", action="store_true", help='count as "on the next and every following nth"'
    )
    shape.add_argument(
        "--right-side", action="store_true", help="shape on right-side rows; the next row is one"
    )
    shape.add_argument(
        "--evenly",
        type=option_of(read.evenly),
        metavar="STS+N",
        help="evenly in one row: 51+4 or 80-8",
    )
    shape.add_argument("--round", action="store_true", help="that row is a round")
    fabric = parser.add_argument_group("stitch pattern")
    fabric.add_argument(
        "--stitch", metavar="NAME",
        help='write the rows in it, shaped as --shape says: "2x2 rib", garter, seed; all are named'
        " when one is not known",
    )  # fmt: skip
    fabric.add_argument("--in-rounds", action="store_true", help="the piece is worked in rounds")
    fabric.add_argument("--to", type=Path, metavar="FILE", help="the pattern file to write")
    look = parser.add_argument_group("tables")
    look.add_argument("--needles", metavar="NUMBER", help='sizes of "US 7", "UK 10" or "4.5 mm"')
    look.add_argument("--head", metavar="AGE", help='a child\'s head at "18 months", "2 years"')
    look.add_argument("--sizes", metavar="WORD", help="size charts that mention a word: foot, crib")
    begin = parser.add_argument_group("casting on")
    begin.add_argument(
        "--begin", metavar="NAME", help="cast the piece on under this name; `walesong knit` goes on"
    )
    begin.add_argument("--journal", metavar="FILE", type=journal_of, help="where the work is kept")
    parser.add_argument(
        "--sure", action="store_true", help="take figures as they are that would be asked about"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.set_defaults(run=run, plan_parser=parser)


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 6):  # noqa: PLR2004 (a million)
        raise argparse.ArgumentTypeError(f"'{text}' is no whole number.")
    return int(text)


def run(options: argparse.Namespace) -> int:
    """Print the plan; 1 if it cannot be worked out, 2 if too little was given."""
    lacks = _lacking(options)
    if lacks:
        options.plan_parser.print_usage(sys.stderr)
        print(f"walesong plan: {lacks}", file=sys.stderr)
        return 2
    try:
        answer: dict[str, Any] = {}
        lines: list[str] = []
        if options.shape:
            rate = _rate(options)
            answer["shaping"], lines = _rate_json(rate), [*lines, *words.rate_lines(rate)]
        if options.evenly:
            rows = _spacings(options)
            answer["evenly"] = [_spacing_json(row) for row in rows]
            lines += [words.spacing_line(row) for row in rows]
        if options.swatch or options.unwashed:
            wish = _wish(options)
            asked = "" if options.sure else " ".join(plan_doubts.doubt_lines(wish))
            if options.to is not None and options.to.exists():
                print(f"walesong plan: there is a file {options.to} already.", file=sys.stderr)
                return 3
            plan = plan_piece(
                wish,
                read_yarns(resources.text("shared/tables/yarn_categories.toml")),
                read_needles(resources.text("shared/tables/needles.toml")),
            )
            if asked:
                print(f"walesong plan: {asked} If so, add --sure.", file=sys.stderr)
                return 1
            answer["piece"], lines = _plan_json(plan), [*lines, *words.piece_lines(plan, wish)]
            pattern = _pattern(options, plan, wish)
            if pattern is not None:
                answer["pattern"] = pattern
                lines += ["", pattern] if options.to is None else [_written(options.to, pattern)]
            if options.begin:
                answer["begun"] = _begin(options, plan, pattern)
                lines.append(answer["begun"])
                lines += [_unwritten(options, plan)] if pattern is None else []
        if options.fibre:
            fibres = care_of(read_care(resources.text("shared/tables/care.toml")), options.fibre)
            answer["care"] = [{"fibre": f.name, "wash": f.wash, "dry": f.dry} for f in fibres]
            lines += words.care_lines(fibres) if fibres else ["No fibre known by that name."]
        for name, find in _LOOKUPS.items():
            if wanted := getattr(options, name):
                answer[name] = list(find(wanted))
                lines += answer[name]
    except ValueError as error:
        print(f"walesong plan: {error}", file=sys.stderr)
        return 1
    except OSError as error:
        print(f"walesong plan: {options.to} cannot be written: {error.strerror}.", file=sys.stderr)
        return 3
    except JournalError as error:
        print(f"walesong plan: {error}", file=sys.stderr)
        return 4
    print(json.dumps(answer, ensure_ascii=False) if options.json else "\n".join(lines))
    return 0


def _lacking(options: argparse.Namespace) -> str | None:
    swatch = options.swatch or options.unwashed
    if swatch:
        if not (options.width or options.around) or not options.length:
            return "a piece needs --length and --width or --around."
        if options.width and options.around:
            return "give --width or --around, not both."
        if options.ease and not options.around:
            return "--ease is more or less than --around; a --width is finished already."
    elif options.width or options.around or options.length:
        return "a size needs a swatch: --swatch or --unwashed."
    elif not any(getattr(options, name) for name in ("shape", "evenly", "fibre", *_LOOKUPS)):
        return "nothing to plan; give a swatch and a size, --shape, --evenly, --fibre or a table."
    for what, given in _NEED_A_PLAN.items():
        if not swatch and any(getattr(options, name) for name in given):
            return f"{what} from a plan: give a swatch and a size."
    if (options.in_rounds or options.to) and not options.stitch:
        return "to write the rows, name the stitch pattern: --stitch."
    if options.weighed and not options.ball:
        return "a weighed swatch needs the band of the --ball."
    if options.have and not options.ball:
        return (
            "balls in hand count for nothing without what is in one: give the band of the --ball."
        )
    return None


def _wish(options: argparse.Namespace) -> Wish:
    width = options.width
    if width is None:
        width = options.ease.applied(options.around) if options.ease else options.around
    ball = Ball(*options.ball) if options.ball else None
    return Wish(
        swatch=swatch_of(options),
        width=width,
        length=options.length,
        multiple=options.multiple or _multiple(options),
        edge_stitches=options.edges,
        parity=RowParity.EVEN if options.even_rows else RowParity.ANY,
        pattern_gauge=(
            read.as_gauge(options.pattern_gauge, Fabric.WASHED) if options.pattern_gauge else None
        ),
        needle_mm=options.needle,
        ball=ball,
        have=options.have,
        lots=tuple(options.lot),
        weighed=_weighed(options),
        around=options.around,
    )


def _multiple(options: argparse.Namespace) -> Multiple | None:
    """Return the multiple of the stitch pattern; ValueError if there is none of that name."""
    if not options.stitch:
        return None
    stitch = stitch_patterns().named(options.stitch)
    return stitch.multiple(options.edges, in_round=options.in_rounds)


def _pattern(options: argparse.Namespace, plan: PiecePlan, wish: Wish) -> str | None:
    """Return the planned piece as a pattern; None without a stitch pattern."""
    if not options.stitch:
        return None
    return pattern_of_plan(
        options.begin or "Planned piece",
        plan,
        wish,
        stitch_patterns().named(options.stitch),
        rate=_rate(options) if options.shape else None,
        in_round=options.in_rounds,
    )


def _written(path: Path, pattern: str) -> str:
    path.write_text(pattern, encoding="utf-8")
    return f"The pattern is in {path}; it adds up."


def _unwritten(options: argparse.Namespace, plan: PiecePlan) -> str:
    """Say that no rows are written, and which stitch patterns would fit."""
    cast_on = plan.cast_on
    fitting = stitch_patterns().fitting(cast_on.stitches, options.edges, in_round=False)
    names = ", ".join(one.name for one in fitting)
    return f"Its rows are not written; --stitch NAME does. What fits: {names}."


def swatch_of(options: argparse.Namespace) -> Swatch:
    """Return the swatch that --swatch and --unwashed describe; ValueError if neither was given."""
    return Swatch(
        read.as_gauge(options.swatch, Fabric.WASHED) if options.swatch else None,
        read.as_gauge(options.unwashed, Fabric.RESTED) if options.unwashed else None,
    )


def _weighed(options: argparse.Namespace) -> WeighedSwatch | None:
    if not options.weighed:
        return None
    mass, wide, high = options.weighed
    return WeighedSwatch(wide * high, mass)


def _begin(options: argparse.Namespace, plan: PiecePlan, pattern: str | None) -> str:
    """Cast the planned piece on, with its swatch; return a sentence. May raise JournalError."""
    journal = options.journal or default_journal()
    new = NewPiece(
        name=options.begin,
        project=options.begin,
        pattern=pattern,
        cast_on=plan.cast_on.stitches,
        target=said_length(plan.length.length),
        swatch=swatch_events(swatch_of(options), options.needle, options.weighed),
        lot=options.lot[0] if options.lot else "",
    )
    with SqliteJournal.open(journal) as kept:
        Conversation.begin(kept, new, SystemClock(), Source.TYPED)
    rows = " and its rows" if pattern is not None else ""
    return f"{options.begin} is cast on, with its swatch{rows}, in {journal}."


def _rate(options: argparse.Namespace) -> Rate:
    first, last, rows = options.shape
    return shaping_rate(
        first,
        last,
        rows,
        per_shaping=options.per_row,
        counting=Counting.NEXT_AND_FOLLOWING if options.next_row else Counting.EVERY,
        right_side_only=options.right_side,
    )


def _spacings(options: argparse.Namespace) -> list[EvenSpacing]:
    stitches, change = options.evenly
    layouts = [Layout.ROUND] if options.round else [Layout.BETWEEN, Layout.CENTRED]
    space = space_increases if change > 0 else space_decreases
    return [space(stitches, abs(change), layout) for layout in layouts]


# --- JSON: numbers as numbers, lengths with their unit and in centimetres -------------------


def _length_json(length: Length | None) -> dict[str, Any] | None:
    if length is None:
        return None
    return {"value": round(float(length.value), 6), "unit": str(length.unit), "cm": length.cm}


def _number_json(value: Fraction) -> float:
    return round(float(value), 6)


def _plan_json(plan: PiecePlan) -> dict[str, Any]:
    cast_on, length = plan.cast_on, plan.length
    found: dict[str, Any] = {
        "cast_on": cast_on.stitches,
        "edge_stitches": cast_on.edge_stitches,
        "finished_width": _length_json(cast_on.width),
        "width_before_wash": _length_json(plan.width_in_hand),
        "others": [
            {"cast_on": count, "width": _length_json(width)} for count, width in cast_on.others
        ],
        "rows": length.rows,
        "finished_length": _length_json(length.length),
        "length_before_wash": _length_json(length.in_hand),
        "caveats": [str(caveat) for caveat in plan.caveats],
    }
    if plan.match is not None:
        found["gauge"] = {
            "advice": str(plan.match.advice),
            "stitch_difference": _number_json(plan.match.stitch_difference),
            "row_difference": _number_json(plan.match.row_difference),
            "needle_step_mm": _number_json(plan.match.needle_step_mm),
            "swatch_again": plan.match.swatch_again,
            "other_needle_mm": _number_json(plan.other_needle.mm) if plan.other_needle else None,
        }
    if plan.category is not None:
        found["yarn_category"] = {
            "fit": str(plan.category.fit),
            "numbers": [category.number for category in plan.category.categories],
        }
    if plan.need is not None:
        found["yarn"] = {
            "basis": str(plan.need.basis),
            "low_m": round(plan.need.low_m, 1),
            "best_m": round(plan.need.best_m, 1),
            "high_m": round(plan.need.high_m, 1),
            "balls": plan.buy.balls if plan.buy else None,
        }
    return found


def _rate_json(rate: Rate) -> dict[str, Any]:
    return {
        "counting": str(rate.counting),
        "steps": [{"every": step.every, "times": step.times} for step in rate.steps],
        "rows": list(rate.shaping_rows()),
        "left_over": rate.left_over,
    }


def _spacing_json(spacing: EvenSpacing) -> dict[str, Any]:
    return {
        "layout": str(spacing.layout),
        "gaps": list(spacing.gaps),
        "rest": spacing.rest,
        "stitches": spacing.stitches_after,
    }
