"""
What a line that repeats rows says of the count: "dec'ing 1 st every RS row", "inc 4 on last row".

The first only tells what the rows do anyway and is compared with them; the second is worked once,
on the last row.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.notation import Work, amount_for
from engine.pattern.problems import PatternError, Problem
from engine.pattern.spelling import amount_of

if TYPE_CHECKING:
    from engine.pattern.lines import Prepared
    from engine.pattern.tree import RowSpec


def change_stated(line: ph.PhraseLine) -> ph.PhraseLine:
    """Read "(dec 8 sts)" behind a row that is worked as what the row does, not as more to do."""
    _so_many_evenly(line.phrases)
    last = line.phrases[-1] if line.phrases else None
    match last:
        case ph.Bracket(
            phrases=(ph.Change() as change, *rest), stop=None, times=None, into=None
        ) if all(isinstance(one, ph.RepeatFrom) for one in rest):
            pass
        case _:
            return line
    before = line.phrases[:-1]
    if _SO_MANY.match(line.text, last.at) is None:
        return line  # "(inc in last st)" is worked
    if not any(isinstance(one, ph.To | ph.RepeatFrom) for one in before) and not any(
        isinstance(one, Work) and one.stitch.net for one in before
    ):
        return line
    said = ph.Stated(change.amount, 1 if change.increases else -1, at=last.at)
    return replace(line, phrases=(*before, said))


def _so_many_evenly(phrases: tuple[ph.Phrase, ...]) -> None:
    """Raise at "inc evenly": how many is not said."""
    counts = (ph.UntilCount, ph.Remaining, ph.Stated, ph.BareNumber)
    for change, after in pairwise(phrases):
        if not isinstance(change, ph.Change) or not isinstance(after, ph.Evenly):
            continue
        if not change.counted and not any(isinstance(one, counts) for one in phrases):
            raise PatternError(Problem("Say how many stitches, evenly.", 1, change.at + 1))


_SO_MANY = re.compile(r"\s*[(\[]?\s*(?:inc|dec)[a-z]*\.?\s+\d", re.IGNORECASE)
_NOTED = re.compile(
    r"[(\[](?:rs|ws)?[ ,:;-]*(?:(?P<verb>inc|dec)[a-z]*\.? )?(?P<number>\d+(?:/\d+)*)"
    r"(?: (?:sts|st|stitches|stitch)\.?)?(?: (?P<after>inc|dec)[a-z']*)?[ ,]*[)\]]",
    re.IGNORECASE,
)


def stated_in_note(notes: str) -> ph.Stated | None:
    """
    Return what is stated behind a row's number: "(inc 5 sts)", "(4 sts dec'd)", "(19 sts)".

    Raises PatternError where a number stands there that is not understood, so not compared.
    """
    found = _NOTED.search(notes)
    if found is None:
        if any(letter.isdigit() for letter in notes):
            sentence = "Write what is stated here behind the row: 44 sts, or (4 sts inc)."
            raise PatternError(Problem(sentence, 1, 1))
        return None
    verb = (found["verb"] or found["after"] or "").casefold()
    return ph.Stated(amount_of(found["number"]) or (0,), {"inc": 1, "dec": -1}.get(verb, 0))


_LAST_ROW = re.compile(
    r"[^.;]*?\b(?:in|on|of|over|across|along)(?: the)? (?:last|final) (?:row|rnd|round)\b",
    re.IGNORECASE,
)


def on_last_row(prepared: Prepared) -> tuple[Prepared, ph.Change, str] | None:
    """Return the line without what is shaped on its last row, that, and its words; or None."""
    changes = [phrase for phrase in prepared.phrases if isinstance(phrase, ph.Change)]
    if len(changes) != 1:
        return None
    change = changes[0]
    words = _LAST_ROW.match(prepared.line.text, change.at)
    if words is None:
        return None
    rest = tuple(
        phrase
        for phrase in prepared.phrases
        if phrase is not change
        and not isinstance(phrase, ph.Evenly | ph.PhrasePlace | ph.Schedule)
        and phrase is not _count_reached(prepared, change)
    )
    line = replace(prepared.line, phrases=rest)
    return replace(prepared, line=line, stated=None), change, words.group()


def _count_reached(prepared: Prepared, change: ph.Change) -> ph.UntilCount | None:
    """Return the count of "inc to 30 sts evenly on last row", or None."""
    after = prepared.phrases[prepared.phrases.index(change) :]
    return next((phrase for phrase in after if isinstance(phrase, ph.UntilCount)), None)


def number_changed_to(prepared: Prepared, change: ph.Change, size: int, total: int) -> int:
    """
    Return by how many stitches the last of some rows changes the count of `total` stitches.

    Raises PatternError where more stitches are made by decreasing, or fewer by increasing.
    """
    reached = _count_reached(prepared, change)
    count = amount_for(reached.amount, size)[0] if reached is not None else None
    if reached is None or count is None:
        return number_changed(change, size)
    if count != total and (count > total) is not change.increases:
        sentence = f"{total} stitches are on the needle here already."
        raise PatternError(Problem(sentence, 1, change.at + 1, off_by=total - count))
    return count - total


def number_changed(change: ph.Change, size: int) -> int:
    """Return by how many stitches one shaped row changes the count; above zero for more."""
    amount = amount_for(change.amount, size)[0] or 0
    ends = 2 if change.place is ph.ChangePlace.EACH_END else 1
    return amount * ends * (1 if change.increases else -1)


def compare_with_rows(prepared: Prepared, body: tuple[RowSpec, ...], size: int) -> None:
    """Raise where "dec'ing 1 st every RS row" is not what the repeated rows do."""
    change = prepared.first(ph.Change)
    if not isinstance(change, ph.Change):
        return
    shaped = _rows_shaped(prepared, len(body))
    effects = [spec.effect for spec in body]
    known = [
        effect.b for effect in effects if effect is not None and (effect.a, effect.q) == (1, 1)
    ]
    if shaped is not None and len(known) == len(body):
        said = number_changed(change, size) * shaped
        if sum(known) == said:
            return
        sentence = (
            f"The rows repeated here change the count by {sum(known):+d} each time, the words say "
            f"{said:+d}."
        )
    else:
        sentence = "Write what is shaped while rows are repeated as a line of its own."
    raise PatternError(Problem(sentence, 1, change.at + 1))


def _rows_shaped(prepared: Prepared, rows: int) -> int | None:
    """Return how many of so many rows are shaped; None where that cannot be known."""
    if any(isinstance(phrase, ph.EveryRow) for phrase in prepared.phrases):
        return rows
    schedule = prepared.first(ph.Schedule)
    if not isinstance(schedule, ph.Schedule):
        return 1
    every = schedule.every or 1
    return rows // every if rows % every == 0 and schedule.times is None else None
