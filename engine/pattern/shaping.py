"""
Shaping said in words: "dec 1 st at each end of next and every foll 6th row to 46 sts".

Such a line becomes progressions: on which rows, how often, how many stitches. "Every 6th row" is
first worked on the sixth row from here, "next and every foll 6th" on the next one; "then every 4th
row" goes on from the last row of the shaping before it (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.limits import MOST_ROWS
from engine.pattern import phrases as ph
from engine.pattern.headings import Side
from engine.pattern.notation import (
    Along,
    Amount,
    BindOff,
    CastOn,
    Item,
    Marker,
    MarkerMove,
    StopAt,
    StopWork,
    Work,
    amount_for,
    items_for,
)
from engine.pattern.problems import PatternError, Problem
from engine.pattern.stitches import STITCHES, Stitch
from engine.pattern.tree import Progression


@dataclass(frozen=True, slots=True)
class What:
    """What is shaped: the items before and after the rest of the row, or the whole row."""

    change: int
    before: tuple[Item, ...] = ()
    after: tuple[Item, ...] = ()
    row: tuple[Item, ...] | None = None
    at_edge: bool = False


@dataclass(frozen=True, slots=True)
class Clause:
    """One schedule of a line, with how often or down to which count."""

    what: What
    schedule: ph.Schedule
    times: ph.PhraseTimes | None = None
    until: Amount | None = None
    at_once: bool = False
    """All on one row: "dec evenly to 54 sts"."""
    at: int = 0


def clauses(  # noqa: C901, PLR0912, PLR0915 (a case a phrase)
    phrases: tuple[ph.Phrase, ...], size: int, markers: int, row_what: What | None = None
) -> list[Clause]:
    """
    Return the clauses of a line for one size; `markers` is how many are on the needle.

    `row_what` is the row that "rep dec row every 6th row" means.
    """
    found: list[Clause] = []
    what = row_what
    said: ph.Change | None = None
    rhythm: ph.Schedule | None = None
    for index, phrase in enumerate(phrases):
        after = phrases[index + 1] if index + 1 < len(phrases) else None
        match phrase:
            case ph.Stated() if _again_so_many(phrase, what, after):
                said = None if said is None else replace(said, amount=phrase.amount)
                what = _changed(said, size, markers) if said else _bound_again(what, phrase, size)
            case ph.Change():
                if said is not None and what is not None and not _has_clause(found, what):
                    found.append(Clause(what, ph.Schedule(first=1, times=(1,)), at=said.at))
                said = phrase
                what = _changed(phrase, size, markers)
            case ph.Bracket() if (bound := _bound(phrase, size)) is not None:
                what = bound
                if phrase.times is not None:
                    found.append(Clause(what, _every(what), phrase.times, at=phrase.at))
            case ph.PhrasePlace() if said is not None:
                said = replace(said, place=phrase.place)
                what = _changed(said, size, markers)
            case ph.Again() if what is not None:
                said = None if said is None else replace(said, amount=phrase.amount)
                what = _changed(said, size, markers) if said else _bound_again(what, phrase, size)
            case ph.Evenly() if found and found[-1].what is what and found[-1].until is not None:
                found[-1] = replace(found[-1], at_once=True)
            case ph.Evenly() if said is not None:
                if said.place is ph.ChangePlace.ANYWHERE:
                    said = replace(said, place=ph.ChangePlace.EVENLY)
                what = _changed(said, size, markers)
            case ph.Schedule() | ph.EveryRow() if what is not None and _number_to_come(what):
                rhythm = phrase if isinstance(phrase, ph.Schedule) else ph.Schedule(every=1)
            case ph.Schedule() if what is not None:
                found.append(Clause(what, _of_size(phrase, size), at=phrase.at))
            case ph.EveryRow() if what is not None:
                found.append(Clause(what, ph.Schedule(every=1), at=phrase.at))
            case ph.HowManyRows() if what is not None and not found:
                if said is not None and any(
                    isinstance(one, ph.Evenly) and one.first_row for one in phrases
                ):
                    found.append(Clause(what, ph.Schedule(first=1, times=(1,)), at=said.at))
                    continue
                if _is_even(said) and phrase.amount != (1,):
                    sentence = "Write the row that is shaped and the rows after it as two lines."
                    raise PatternError(Problem(sentence, 1, phrase.at + 1))
                if said is not None and index and isinstance(phrases[index - 1], ph.Bare):
                    # "dec 1 st each end, work 3 rows": once, and then the rows
                    found.append(Clause(what, ph.Schedule(first=1, times=(1,)), at=said.at))
                    continue
                schedule = ph.Schedule(first=1, every=1, times=phrase.amount)
                found.append(Clause(what, schedule, at=phrase.at))
            case ph.PhraseTimes() if found and (found[-1].what is what or what is None):
                found[-1] = replace(found[-1], times=phrase)
            case ph.UntilCount() if found and (found[-1].what is what or what is None):
                found[-1] = replace(found[-1], until=phrase.amount)
            case ph.PhraseTimes() if what is not None:
                found.append(Clause(what, rhythm or _every(what), phrase, at=phrase.at))
            case ph.UntilCount() if what is not None:
                every = ph.Schedule(first=1, every=1)
                evenly = _is_even(said)
                found.append(Clause(what, every, None, phrase.amount, evenly, phrase.at))
            case _:
                continue
    if what is not None and _number_to_come(what):
        at = next((phrase.at for phrase in phrases if isinstance(phrase, ph.Bracket)), 0)
        raise PatternError(Problem("Say how many stitches are bound off.", 1, at + 1))
    if what is not None and (not found or (said is not None and not _has_clause(found, what))):
        found.append(Clause(what, ph.Schedule(first=1, times=(1,))))
    return found


def _number_to_come(what: What) -> bool:
    """Whether the numbers follow: "bind off at beg of every row: 4 sts twice, 2 sts twice"."""
    return any(
        isinstance(one, BindOff) and one.amount is None for one in (*what.before, *what.after)
    )


def _is_even(said: ph.Change | None) -> bool:
    return said is not None and said.place is ph.ChangePlace.EVENLY


def _times_over(what: What, times: int) -> What:
    """Return what is shaped so many times, all on one row."""
    before = tuple(
        replace(item, amount=tuple(n and n * times for n in item.amount))
        if isinstance(item, Work)
        else item
        for item in what.before
    )
    return replace(what, change=what.change * times, before=before)


def _has_clause(found: list[Clause], what: What) -> bool:
    return any(clause.what is what for clause in found)


def progressions(
    found: list[Clause],
    size: int,
    count: int | None,
    *,
    endless: bool = False,
    rows: int | None = None,
    side: Side | None = None,
) -> list[Progression]:
    """
    Return the progressions of the clauses, one going on from the last row of the other.

    `count` is the number of stitches before them (None: not known), `rows` how many rows there are
    where the line says so: "work 20 rows, dec 1 st each end of every 5th row". `side` is the one of
    the first row (None: not known, or in the round). Raises PatternError where the numbers cannot
    be right.
    """
    result: list[Progression] = []
    start = 0
    for said in found:
        schedule, what = _on_its_side(said.schedule, side, start), said.what
        clause = replace(said, schedule=schedule)
        every = schedule.every or 1
        first = start + (1 if schedule.also_next else schedule.first or schedule.every or 1)
        times = _times(clause, size, count, rows, endless=endless)
        if times is None:
            continue
        if schedule.also_next and schedule.first == 1 and schedule.times is not None:
            times += 1
        if not times:
            continue
        if clause.at_once:
            what, times = _times_over(what, times), 1
        shaping = Progression(first, every, times, what.change, what.before, what.after)
        result.append(shaping)
        start = shaping.last
        if count is not None:
            count += what.change * times
    return result


def _on_its_side(schedule: ph.Schedule, side: Side | None, start: int) -> ph.Schedule:
    """Let "every RS row", "foll 3 RS rows" begin with the first row of that side that comes."""
    if schedule.side is None or side not in {Side.RIGHT, Side.WRONG}:
        return schedule
    if schedule.also_next or schedule.first not in {None, 1}:
        return schedule
    is_next = (side is schedule.side) == (start % 2 == 0)
    return replace(schedule, first=1 if is_next else 2)


def _times(
    clause: Clause, size: int, count: int | None, rows: int | None, *, endless: bool
) -> int | None:
    change = clause.what.change
    if clause.schedule.times == (0,):
        return None
    if clause.until is not None:
        target = amount_for(clause.until, size)[0]
        if target is None or count is None or change == 0:
            return 0
        times, rest = divmod(target - count, change)
        if rest or times < 0:
            raise PatternError(_no_such_count(count, target, change, clause.at))
        return times
    if clause.times is not None:
        times_said = amount_for(clause.times.amount, size)[0]
        if times_said is None:
            return None
        more = clause.times.more and (
            clause.schedule.also_next or clause.schedule.first not in {None, 1, 2}
        )
        several = clause.schedule.times
        if several is not None and not clause.schedule.also_next:
            return times_said * (amount_for(several, size)[0] or 0)
        return times_said + (1 if more else 0)
    if clause.schedule.times is not None:
        return amount_for(clause.schedule.times, size)[0]
    if clause.schedule.every is None:
        return 1
    if endless:
        return MOST_ROWS
    if rows is not None:
        first = 1 if clause.schedule.also_next else clause.schedule.first or clause.schedule.every
        return max((rows - first) // clause.schedule.every + 1, 0)
    raise PatternError(
        Problem("Say how often, or down or up to how many stitches.", 1, clause.at + 1)
    )


def _no_such_count(count: int, target: int, change: int, at: int) -> Problem:
    step = abs(change)
    if (target - count) * change < 0:
        kind = "increases" if change > 0 else "decreases"
        return Problem(
            f"{kind.capitalize()} cannot lead from {count} to {target} stitches.",
            1,
            at + 1,
            off_by=count - target,
        )
    low = target - (target - count) % step
    return Problem(
        f"From {count} stitches, {step} at a time, {target} is never reached; "
        f"{low} or {low + step} would be.",
        1,
        at + 1,
        off_by=(count - target) % step if change < 0 else -((target - count) % step),
    )


def _changed(said: ph.Change, size: int, markers: int) -> What:
    amount = amount_for(said.amount, size)[0] or 0
    stitch = STITCHES["inc" if said.increases else "dec"]
    one = (_work(stitch, amount, said),)
    sign = 1 if said.increases else -1
    match said.place:
        case ph.ChangePlace.EACH_END:
            return What(2 * sign * amount, one, one)
        case ph.ChangePlace.END:
            return What(sign * amount, (), one)
        case ph.ChangePlace.MARKERS:
            if not markers:
                sentence = "No marker is on the needle here; say where it is placed (pm)."
                raise PatternError(Problem(sentence, 1, said.at + 1))
            row = _beside_markers(increases=said.increases, amount=amount, markers=markers)
            return What(2 * sign * amount * markers, row=row)
        case _:
            return What(sign * amount, one, ())


def _work(stitch: Stitch, amount: int, said: ph.Change) -> Work:
    return Work(stitch, (amount,), (said.words,) if said.words else (), at=said.at)


def _beside_markers(*, increases: bool, amount: int, markers: int) -> tuple[Item, ...]:
    plain = (Work(STITCHES["work"]),)
    stitch = STITCHES["m1" if increases else "dec"]
    shaped = Work(stitch, (amount,))
    to_marker = Along(plain, StopWork(StopAt.MARKER, (stitch.takes * amount,)))
    at_each: tuple[Item, ...] = (to_marker, shaped, Marker(MarkerMove.SLIP), shaped)
    return (*at_each * markers, Along(plain))


def _again_so_many(said: ph.Stated, what: What | None, after: ph.Phrase | None) -> bool:
    """Whether "2 sts" goes on with a shaping: "bo 4 sts at neck edge once, 2 sts twice"."""
    return (
        what is not None
        and not said.change
        and not said.led
        and isinstance(after, ph.PhraseTimes | ph.Schedule)
    )


def _of_size(schedule: ph.Schedule, size: int) -> ph.Schedule:
    """Return a schedule with the distance of one size; a dash means no row at all."""
    if schedule.by_size is None:
        return schedule
    every = amount_for(schedule.by_size, size)[0]
    if not every:
        return replace(schedule, times=(0,))
    first = schedule.first if schedule.also_next else None
    return replace(schedule, first=first, every=every)


def _every(what: What) -> ph.Schedule:
    """At one edge stitches can be bound off only on every second row."""
    return ph.Schedule(first=1, every=2 if what.at_edge else 1)


def _bound_again(what: What | None, again: ph.Again | ph.Stated, size: int) -> What:
    """Like "bo 6 at beg of next 4 rows, then 7 at beg of foll 2": another number of the same."""
    if what is None:
        raise TypeError("Nothing was bound off before this.")
    amount = amount_for(again.amount, size)
    count = amount[0] or 0
    before = tuple(_with_amount(item, amount) for item in what.before)
    after = tuple(_with_amount(item, amount) for item in what.after)
    change = count * len([*before, *after])
    return replace(what, change=-change if what.change < 0 else change, before=before, after=after)


def _with_amount(item: Item, amount: Amount) -> Item:
    return replace(item, amount=amount) if isinstance(item, BindOff | CastOn) else item


def _bound(phrase: ph.Bracket, size: int) -> What | None:
    places = [part.place for part in phrase.phrases if isinstance(part, ph.PhrasePlace)]
    items = tuple(part for part in phrase.phrases if not isinstance(part, ph.PhrasePlace))
    if not places or len(items) != 1:
        return None
    bound = items_for(items, size)  # type: ignore[arg-type]
    if not bound:
        return What(0)
    item = bound[0]
    amount = getattr(item, "amount", None)
    count = (amount[0] or 0) if amount else 0
    change = -count if isinstance(item, BindOff) else count
    one = (item,)
    if places[0] is ph.ChangePlace.EACH_END:
        return What(2 * change, one, one)
    at_edge = places[0] is ph.ChangePlace.EDGE
    if places[0] is ph.ChangePlace.END:
        return What(change, (), one)
    return What(change, one, (), at_edge=at_edge)
