"""`walesong order`: pieces for somebody by a day: what is done, by whom, what is to come."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from app.pieces import order_input as read
from app.pieces import plan_input
from app.pieces.alike_pieces import piece_called
from app.pieces.journal_files import default_journal
from app.pieces.order_view import order_view
from app.pieces.order_words import DOUBTS, next_line, order_lines, piece_title
from app.pieces.orders import order_called
from app.session.clock import SystemClock
from app.session.order_history import OrderHistory
from app.terminal.common_options import complain, option_of
from engine import order_events as said
from engine.batch.progress import StageDoubt, stage_doubt
from engine.commands import Source
from engine.journal.sqlite import SqliteJournal
from engine.records import new_name
from engine.stages import Stage

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from engine.batch.order import OrderState
    from engine.events import Event

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

_EPILOG = """\
Pieces have numbers from 1 on; a number like 14-20 stands for all of them. Stages: begun, knitted,
ends, washed, dry, measured, packed.

examples:
  walesong order begin "Sleeves for the hut" --due 2026-03-01
  walesong order add 24 "Mug sleeve" --colour grey --rows 22 --stitches 50 --length "8 cm" \\
                 --width "24 cm" --weight "12 g"
  walesong order give "the warden" 1-24           walesong order hours "the warden" 5
  walesong order yarn 10 "100 g" --colour grey --lot 4107
  walesong order mark washed 12 13 14             walesong order reject 12 --why "felted"
  walesong order measured 12 --length "8.1 cm" --weight "12.1 g" --minutes 55
  walesong order                                  walesong order next
"""
Plan = tuple[list["Event"], str]


class _UnfitError(Exception):
    """What was asked cannot be; the sentence says why and what to do."""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "order",
        description=(
            "An order: counts per item, size and colour, the day it is due, who knits what, the "
            "stage of every piece, rejects and spares, yarn in whole balls of one dye lot, and by "
            "simulation the hours left and the day at this pace."
        ),
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    common = argparse.ArgumentParser(add_help=False)
    common.add_argument(
        "--journal",
        metavar="FILE",
        type=Path,
        default=argparse.SUPPRESS,
        help="where the work is kept",
    )
    common.add_argument(
        "--order",
        metavar="NAME",
        default=argparse.SUPPRESS,
        help="which order (the one taken last)",
    )
    parser.add_argument("--journal", metavar="FILE", type=Path, help="where the work is kept")
    parser.add_argument("--order", metavar="NAME", help="which order (the one taken last)")
    parser.set_defaults(run=run, act=None, sure=False)
    actions = parser.add_subparsers(title="what to do (left out: show the order)", metavar="ACTION")

    def action(name: str, summary: str, act: object) -> argparse.ArgumentParser:
        one = actions.add_parser(name, help=summary, parents=[common])
        one.set_defaults(act=act)
        return one

    one = action("begin", "take an order", _begin)
    one.add_argument("name", metavar="NAME")
    one.add_argument("--due", type=option_of(read.day), metavar="2026-03-01")
    one = action("add", "add pieces of one item, size and colour", _add)
    one.add_argument("count", type=option_of(read.how_many), metavar="COUNT")
    one.add_argument("item", metavar="ITEM")
    one.add_argument("--size", default="")
    one.add_argument("--colour", default="")
    one.add_argument("--spares", type=option_of(read.how_many), help="more than that (one in 12)")
    one.add_argument(
        "--like", metavar="PIECE", help="a piece of the journal that they are to match"
    )
    _add_measures(one)
    one.add_argument("--stitches", type=option_of(read.how_many))
    one = action("give", "say who knits pieces", _give)
    one.add_argument("knitter", metavar="KNITTER")
    _add_numbers(one)
    one = action("hours", "say how many hours a week somebody knits", _hours)
    one.add_argument("knitter", metavar="KNITTER")
    one.add_argument("hours", type=option_of(read.hours), metavar="HOURS")
    one = action("yarn", "say how many balls of a dye lot there are", _yarn)
    one.add_argument("balls", type=option_of(read.how_many), metavar="BALLS")
    one.add_argument("ball", type=option_of(plan_input.mass), metavar='"100 g"')
    one.add_argument("--colour", default="")
    one.add_argument("--lot", default="")
    one = action("mark", "say that pieces are at a stage", _mark)
    one.add_argument("stage", type=option_of(read.stage), metavar="STAGE")
    _add_numbers(one)
    one.add_argument("--sure", action="store_true", help="also what would be asked about")
    _add_pieces_actions(action)


def _add_pieces_actions(action: Callable[[str, str, object], argparse.ArgumentParser]) -> None:
    one = action("measured", "keep what a piece measures, washed and dry", _measured)
    one.add_argument("number", type=option_of(read.how_many), metavar="NUMBER")
    _add_measures(one)
    one.add_argument("--minutes", type=option_of(read.how_many), help="how long it took to knit")
    one = action("reject", "a piece does not do and is knitted anew", _reject)
    one.add_argument("number", type=option_of(read.how_many), metavar="NUMBER")
    one.add_argument("--why", default="")
    one = action("tie", "say which piece of the journal a number is", _tie)
    one.add_argument("number", type=option_of(read.how_many), metavar="NUMBER")
    one.add_argument("piece", metavar="PIECE")
    one = action("settle", "say that what two devices numbered at once is right now", _settle)
    one.add_argument("numbers", type=option_of(read.numbers), nargs="*", metavar="NUMBER")
    action("next", "say what to start next", _next)
    action("undo", "take back what was said last of the order", _undo)


def _add_numbers(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "numbers", type=option_of(read.numbers), nargs="+", metavar="NUMBER", help="12, or 14-20"
    )


def _add_measures(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--rows", type=option_of(read.how_many))
    parser.add_argument("--length", type=option_of(plan_input.length))
    parser.add_argument("--width", type=option_of(plan_input.length))
    parser.add_argument("--weight", type=option_of(plan_input.mass))


def run(options: argparse.Namespace) -> int:
    """Show the order or change it: 0 done, 1 it cannot be, 2 there is no such order."""
    path = options.journal or default_journal()
    if options.act is not _begin and not path.exists():
        return complain(f'there is no journal "{path}" yet.', 3)
    try:
        if options.act is None or options.act is _next:
            with SqliteJournal.open_to_read(path) as journal:
                state = order_called(journal, options.order)
                view = order_view(journal, state, SystemClock().wall())
            print(next_line(view) if options.act is _next else "\n".join(order_lines(view)))
            return 0
        with SqliteJournal.open(path) as journal:
            return _change(journal, options)
    except KeyError as error:
        return complain(str(error.args[0]), 2)
    except _UnfitError as error:
        return complain(str(error), 1)


def _change(journal: SqliteJournal, options: argparse.Namespace) -> int:
    clock = SystemClock()
    if options.act is _begin:
        history = OrderHistory(journal, new_name(), clock)
    else:
        history = OrderHistory(journal, order_called(journal, options.order).order, clock)
    if options.act is _undo:
        done = history.take_back(Source.TYPED)
        print("Taken back." if done else "There is nothing to take back.")
        return 0 if done else 1
    if options.act is _tie:
        options.piece = piece_called(journal, options.piece)
    if options.act is _add and options.like is not None:
        options.like = piece_called(journal, options.like)
    options.now = clock.wall()
    act: Callable[[OrderState, argparse.Namespace], Plan] = options.act
    happened, told = act(history.state, options)
    history.write(happened, Source.TYPED)
    print(told)
    return 0


# --- what each action writes and says -------------------------------------------------------------


def _begin(_: OrderState, options: argparse.Namespace) -> Plan:
    name = options.name.strip()
    if not name:
        raise _UnfitError("an order needs a name.")
    due = f", due {options.due}" if options.due else ""
    return [said.OrderBegun(name, options.due or "")], f"{name} is taken{due}."


def _add(state: OrderState, options: argparse.Namespace) -> Plan:
    item = options.item.strip()
    if not item or not options.count:
        raise _UnfitError("how many of what? At least one piece, and its name.")
    spares = options.spares if options.spares is not None else -(-options.count // 12)
    first = state.next_number
    happened: list[Event] = [
        said.OrderLine(first, item, options.size, options.colour, options.count, spares)
    ]
    plan = (options.rows, options.stitches, options.length, options.width, options.weight)
    if options.like is not None or any(one is not None for one in plan):
        happened.append(said.LineWanted(first, options.like or "", *plan))
    last = first + options.count + spares - 1
    return happened, (
        f"{options.count} {item}" + (f" and {spares} to spare" if spares else "")
        + f": pieces {first} to {last}."
    )  # fmt: skip


def _give(state: OrderState, options: argparse.Namespace) -> Plan:
    numbers = _numbers(state, options.numbers)
    knitter = options.knitter.strip()
    given: list[Event] = [said.PieceGiven(number, knitter) for number in numbers]
    return given, f"{_counted(numbers)}: knitted by {knitter or 'nobody yet'}."


def _hours(_: OrderState, options: argparse.Namespace) -> Plan:
    knitter = options.knitter.strip()
    told = f"{knitter} knits {float(options.hours):g} hours a week."
    return [said.HoursAWeek(knitter, options.hours)], told


def _yarn(_: OrderState, options: argparse.Namespace) -> Plan:
    there = said.YarnStocked(options.colour, options.lot, options.balls, options.ball)
    what = " ".join(filter(None, (options.colour, f"lot {options.lot}" if options.lot else "")))
    return [there], f"{options.balls} balls of {options.ball}{' of ' + what if what else ''}."


def _mark(state: OrderState, options: argparse.Namespace) -> Plan:
    numbers = _numbers(state, options.numbers)
    doubts = {
        number: doubt
        for number in numbers
        if (doubt := stage_doubt(state, number, options.stage, options.now)) is not None
    }
    asked = {n: one for n, one in doubts.items() if one is not StageDoubt.SO_ALREADY}
    if asked and not options.sure:
        number, doubt = next(iter(asked.items()))
        raise _UnfitError(
            f"{piece_title(state, number)}: {DOUBTS[doubt]}. Nothing was kept; if so, add --sure."
        )
    new = [n for n in numbers if doubts.get(n) is not StageDoubt.SO_ALREADY]
    if not new:
        raise _UnfitError(f"{_counted(numbers)}: {DOUBTS[StageDoubt.SO_ALREADY]}.")
    reached: list[Event] = [said.StageReached(number, options.stage) for number in new]
    return reached, f"{_counted(new)}: {options.stage.value}."


def _measured(state: OrderState, options: argparse.Namespace) -> Plan:
    (number,) = _numbers(state, [(options.number,)])
    plan = (options.rows, options.length, options.width, options.weight, options.minutes)
    if all(one is None for one in plan):
        raise _UnfitError(
            'what does it measure? --length "8.1 cm" --width --weight --rows --minutes.'
        )
    happened: list[Event] = [said.PieceChecked(number, *plan)]
    if stage_doubt(state, number, Stage.MEASURED, options.now) is None:
        happened.append(said.StageReached(number, Stage.MEASURED))
    return happened, f"{piece_title(state, number)}: measured."


def _reject(state: OrderState, options: argparse.Namespace) -> Plan:
    (number,) = _numbers(state, [(options.number,)])
    if state.piece(number).stage is None:
        raise _UnfitError(f"{piece_title(state, number)}: {DOUBTS[StageDoubt.NOT_KNITTED]}.")
    told = f"{piece_title(state, number)}: rejected; it is knitted anew."
    return [said.PieceRejected(number, options.why.strip())], told


def _tie(state: OrderState, options: argparse.Namespace) -> Plan:
    (number,) = _numbers(state, [(options.number,)])
    happened: list[Event] = [said.PieceTied(number, options.piece)]
    return happened, f"{piece_title(state, number)} is that piece now."


def _settle(state: OrderState, options: argparse.Namespace) -> Plan:
    """Say again, knowing of both devices, what holds: the moved lines, or pieces begun twice."""
    numbers = _numbers(state, options.numbers)
    wrong = [number for number in numbers if number not in state.twice]
    if wrong:
        raise _UnfitError(f"{piece_title(state, wrong[0])} was not begun on two devices at once.")
    happened: list[Event] = []
    if numbers:
        for number in numbers:
            piece = state.piece(number)
            happened.append(said.StageReached(number, piece.stage or Stage.BEGUN))
        return happened, f"{_counted(numbers)}: settled."
    for one in state.moved:
        line = next(line for line in state.lines if line.first == one.first)
        happened.append(
            said.OrderLine(line.first, line.item, line.size, line.colour, line.count, line.spares)
        )
    if not happened:
        raise _UnfitError("there is nothing to settle, or say which number.")
    return happened, "The numbers hold as they are shown."


def _next(_: OrderState, __: argparse.Namespace) -> Plan:
    raise AssertionError("What is next is only read.")


def _undo(_: OrderState, __: argparse.Namespace) -> Plan:
    raise AssertionError("Taking back is done by the history.")


def _numbers(state: OrderState, told: Sequence[tuple[int, ...]]) -> list[int]:
    """Return the numbers that were named, each once; refuse those that the order does not have."""
    numbers = list(dict.fromkeys(number for some in told for number in some))
    for number in numbers:
        if state.line_of(number) is None:
            last = state.next_number - 1
            has = f"pieces 1 to {last}" if last else "no pieces yet"
            raise _UnfitError(f"{state.name} has {has}, not {number}.")
    return numbers


def _counted(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return f"Piece {numbers[0]}"
    return f"{len(numbers)} pieces"
