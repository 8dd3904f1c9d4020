"""
Leading to another screen or another piece: what was said becomes where to go, or a question.

Pieces are numbered in the order in which they were begun, so that a number stays that of its
piece; patterns in the order in which they lie on the shelf. Going to another piece changes nothing
and needs no question; casting one on is asked first.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, assert_never

from app.pieces.adding_up import asking_to_begin
from app.pieces.library import patterns
from app.pieces.same_again import another
from app.session.settings_file import read_choices
from engine.judging.decision import Question
from engine.replies import Reply, Say, Tone, reply
from engine.talk import (
    BeginLesson,
    BeginPiece,
    HowIsOrder,
    Leading,
    Nth,
    OfOrder,
    OtherPiece,
    PieceIs,
    PlanLong,
    PlanWide,
    SameAgain,
    Screen,
    Show,
    StartNext,
    WorkOn,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.pieces.library import Shelved
    from app.pieces.values import NewPiece, PieceSummary
    from app.session.order_talk import OrderTalk
    from engine.state import PieceState

_NUMBER_OF_NAME = re.compile(r" \d+$")
_SOUNDS_LIKE = {Nth.THIRD: Nth.FIRST}
"""What was misheard where there are no three; going to a piece is told and changes nothing."""
TOLD = 6
"""So many pieces or patterns are told at most; all of them are on their screen."""


@dataclass(frozen=True, slots=True)
class Led:
    """Where a talk leads: to a screen, to a piece (by its id), to a new one, or to a question."""

    replies: tuple[Reply, ...] = ()
    screen: Screen | None = None
    going: str | NewPiece | None = None
    question: Question | None = None


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """
    What is known when somebody wants to go elsewhere.

    `pieces` reads the pieces of the journal, the latest first; `before` is the piece that was
    worked on before this one ("": none). `waiting` is how many pieces of a large journal are still
    to be read: until then nothing is answered that needs all of them.
    """

    state: PieceState
    pieces: Callable[[], tuple[PieceSummary, ...]]
    before: str = ""
    waiting: int = 0
    orders: OrderTalk | None = None


def lead(  # noqa: PLR0911 (one case a talk: together they are the whole table)
    candidates: Sequence[Leading], here: Whereabouts, *, confirmed: bool = False
) -> Led:
    """Return where a talk leads; `candidates` are what may have been said, the likeliest first."""
    match candidates[0]:
        case Show(screen):
            return _shown(screen, here)
        case BeginPiece(None, None):
            return _shown(Screen.BEGIN, here)
        case BeginLesson():
            return Led((), Screen.LESSON)
        case PieceIs() | HowIsOrder() | StartNext():
            return _of_order(candidates, here, confirmed=confirmed)
        case _ if here.waiting:
            return _refused(Say.PIECES_BEING_READ, count=here.waiting)
        case OtherPiece():
            return _back(here)
        case SameAgain():
            return _begin(another(here.state, _names(here)), candidates[0], confirmed=confirmed)
        case WorkOn(None, None, None):
            return _next(here)
        case WorkOn():
            wished = [one for one in candidates if isinstance(one, WorkOn)]
            return _work_on(wished, here, confirmed=confirmed)
        case PlanWide() | PlanLong():
            return Led((reply(Say.TICK, Tone.HEARD),), Screen.PLAN)
        case BeginPiece(None, None):
            return _shown(Screen.BEGIN, here)
        case BeginPiece():
            wanted = [one for one in candidates if isinstance(one, BeginPiece)]
            return _cast_on(wanted, here, confirmed=confirmed)
        case never:
            assert_never(never)


def _of_order(candidates: Sequence[Leading], here: Whereabouts, *, confirmed: bool) -> Led:
    """Hand on what is said of an order; whatever is asked is asked here."""
    if here.orders is None:
        return _refused(Say.NO_ORDER)
    said = [one for one in candidates if isinstance(one, OfOrder)]
    spoken = here.orders.hear(said, confirmed=confirmed)
    return Led(spoken.replies, question=spoken.question)


def _shown(screen: Screen, here: Whereabouts) -> Led:
    """Show a screen, and tell what can be chosen on it: she may not be able to look."""
    heard = reply(Say.TICK, Tone.HEARD)
    told: list[Reply] = []
    if screen is Screen.CLASS:
        told = [reply(Say.NOT_LISTENING)]
    if screen is Screen.ORDER and here.orders is not None:
        told = list(here.orders.in_short())
    if screen is Screen.PIECES and here.waiting:
        told = [reply(Say.PIECES_BEING_READ, count=here.waiting)]
    elif screen is Screen.PIECES:
        told = [
            reply(Say.PIECE_IS, count=one.number, title=one.name, row=one.done)
            for one in in_order(here.pieces())
        ]
    elif screen is Screen.BEGIN:
        told = [
            reply(Say.PATTERN_IS, count=number, title=one.title)
            for number, one in enumerate(patterns(), 1)
        ]
    return Led((heard, *told[:TOLD]), screen)


def in_order(pieces: Sequence[PieceSummary]) -> tuple[PieceSummary, ...]:
    """Return pieces in the order of their numbers."""
    return tuple(sorted(pieces, key=lambda one: one.number))


# --- to a piece that is begun ---------------------------------------------------------------------


def _back(here: Whereabouts) -> Led:
    others = [one for one in here.pieces() if one.id != here.state.piece]
    before = next((one for one in others if one.id == here.before), None)
    to = before or next(iter(others), None)  # the latest first
    return Led(going=to.id) if to is not None else _refused(Say.NO_OTHER_PIECE)


def _next(here: Whereabouts) -> Led:
    """Go to the piece with the next number that is not finished, around to the first."""
    ordered = in_order(here.pieces())
    at = next((at for at, one in enumerate(ordered) if one.id == here.state.piece), -1)
    around = (*ordered[at + 1 :], *ordered[: max(at, 0)])
    to = next((one for one in around if not one.finished), None)
    return Led(going=to.id) if to is not None else _refused(Say.NO_OTHER_PIECE)


def _work_on(wished: Sequence[WorkOn], here: Whereabouts, *, confirmed: bool) -> Led:
    """Go to the piece that is meant; where two may be, ask for the one heard first."""
    pieces = here.pieces()
    twins = _of_one_name(wished[0], pieces)
    if len(twins) > 1 and not confirmed:
        return _asked(_which_twin(twins))
    found = {one: to for one in wished if (to := _piece(one, pieces, here.state)) is not None}
    if not found:
        numbered = _by_its_place(wished, here)
        return numbered or _refused(Say.NO_SUCH_PIECE, words=_named(wished[0]))
    if len(found) > 1 and not confirmed:
        question: Question | None = None
        for one, to in reversed(found.items()):
            question = Question(reply(Say.ASK_PIECE, title=to.name), one, question)
        return _asked(question)
    return Led(going=next(iter(found.values())).id)


def _of_one_name(wish: WorkOn, pieces: Sequence[PieceSummary]) -> list[PieceSummary]:
    """Return the pieces that have just the name that was said; a name should be one piece's."""
    said = _plain(wish.text or "")
    return [one for one in pieces if said and _plain(one.name) == said]


def _which_twin(twins: Sequence[PieceSummary]) -> Question | None:
    """Ask for one piece of a name after the other, by their numbers, the latest first."""
    question: Question | None = None
    for one in reversed(twins):
        asks = reply(Say.ASK_PIECE_OF_NAME, title=one.name, count=one.number)
        question = Question(asks, WorkOn(count=one.number), question)
    return question


def _by_its_place(wished: Sequence[WorkOn], here: Whereabouts) -> Led | None:
    """Ask for the second piece of all, where "the second one" is none of a pair; None if none."""
    pieces = here.pieces()
    if len(_together(here.state, pieces)) > 1:
        return None
    question: Question | None = None
    for wish in reversed(wished):
        number = list(Nth).index(wish.nth) + 1 if wish.nth is not None else 0
        to = next((one for one in pieces if number and one.number == number), None)
        if to is not None and to.id != here.state.piece:
            question = Question(reply(Say.ASK_PIECE, title=to.name), WorkOn(count=number), question)
    return _asked(question) if question is not None else None


def _piece(wish: WorkOn, pieces: Sequence[PieceSummary], state: PieceState) -> PieceSummary | None:
    if wish.count is not None:
        return next((one for one in pieces if one.number == wish.count), None)
    if wish.nth is not None:
        together = _together(state, pieces)
        places = (list(Nth).index(nth) for nth in (wish.nth, _SOUNDS_LIKE.get(wish.nth)) if nth)
        return next((together[place] for place in places if place < len(together)), None)
    at = _called(wish.text or "", [one.name for one in pieces])
    return pieces[at] if at is not None else None


def _together(state: PieceState, pieces: Sequence[PieceSummary]) -> tuple[PieceSummary, ...]:
    """Return the pieces named as the one in hand, but for their number ("Sleeve", "Sleeve 2")."""
    name = _NUMBER_OF_NAME.sub("", state.name)
    return tuple(
        one
        for one in in_order(pieces)
        if one.project == state.project and _NUMBER_OF_NAME.sub("", one.name) == name
    )


# --- to a new piece ------------------------------------------------------------------------------


def _cast_on(wanted: Sequence[BeginPiece], here: Whereabouts, *, confirmed: bool) -> Led:
    """Cast on what is meant; asked first, and after a no in the next size or the other number."""
    shelf = patterns()
    found = [(one, which) for one in wanted for which in _meant(one, shelf)]
    if not found:
        return _refused(Say.NO_SUCH_PATTERN, words=_named(wanted[0]))
    if confirmed and _can_be_knitted(*found[0][1]):
        return Led(going=_new(*found[0][1], here))
    question: Question | None = None
    for _, (which, size) in reversed(found):
        if not _can_be_knitted(which, size):
            continue
        exactly = BeginPiece(text=_title(which, size))
        question = Question(asking_to_begin(_new(which, size, here)), exactly, question)
    if question is None:
        return _refused(Say.PATTERN_FAULTY, title=found[0][1][0].title)
    return _asked(question)


def _can_be_knitted(which: Shelved, size: str | None) -> bool:
    from app.session.draft import Draft  # noqa: PLC0415 (brings the planner)

    return Draft(pattern=which, size=size).ready()


def _meant(wish: BeginPiece, shelf: Sequence[Shelved]) -> list[tuple[Shelved, str | None]]:
    """Return the patterns and sizes that a wish may mean, all sizes where it names none."""
    if wish.count is not None:
        return _sizes(shelf[wish.count - 1]) if wish.count <= len(shelf) else []
    every = [(which, size) for one in shelf for which, size in _sizes(one)]
    said = _plain(wish.text or "")
    exactly = [one for one in every if _plain(_title(*one)) == said]
    if exactly:
        return exactly[:1]
    at = _called(said, [one.title for one in shelf])
    return _sizes(shelf[at]) if at is not None else []


def _sizes(which: Shelved) -> list[tuple[Shelved, str | None]]:
    sizes = which.document.sizes if which.document is not None else ()
    return [(which, size) for size in sizes or (None,)]


def _title(which: Shelved, size: str | None) -> str:
    return which.title if size is None else f"{which.title}, {size}"


def _new(which: Shelved, size: str | None, here: Whereabouts) -> NewPiece:
    from app.session.draft import Draft, new_piece_of  # noqa: PLC0415 (brings the planner)

    return new_piece_of(
        Draft(pattern=which, size=size),
        plain_name=which.title,
        taken=sorted(_names(here)),
        count_every=read_choices()[0].count_every,
    )


def _begin(new: NewPiece, wish: Leading, *, confirmed: bool) -> Led:
    if confirmed:
        return Led(going=new)
    return _asked(Question(asking_to_begin(new), wish))


# --- words ---------------------------------------------------------------------------------------


def _plain(words: str) -> str:
    return " ".join(words.casefold().replace(",", " ").replace(" size ", " ").split())


def _called(words: str, names: Sequence[str]) -> int | None:
    """Return which of the names is meant: just that one, else the only one that has the words."""
    said = _plain(words)
    plain = [_plain(name) for name in names]
    if said in plain:
        return plain.index(said)
    like = [at for at, name in enumerate(plain) if said and said in name]
    return like[0] if len(like) == 1 else None


def _named(wish: WorkOn | BeginPiece) -> str:
    nth = wish.nth if isinstance(wish, WorkOn) else None
    return wish.text or (nth.value if nth is not None else str(wish.count))


def _names(here: Whereabouts) -> set[str]:
    return {one.name for one in here.pieces()}


def _asked(question: Question | None) -> Led:
    return Led((question.asks,) if question is not None else (), question=question)


def _refused(why: Say, **values: str | int) -> Led:
    return Led((reply(why, Tone.NOT_HEARD, **values),))
