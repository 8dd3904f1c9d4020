"""
The two hands while a row is worked: from the left needle to the right one, item by item.

Exactly as a knitter does it: what the items take, what they leave, which markers are passed. A row
must use up every stitch; if it does not, the answer is a `Misfit` that says how many are over or
short.
"""

from __future__ import annotations

from dataclasses import replace
from typing import assert_never

from engine.limits import MOST_MARKERS, MOST_STITCHES, spend
from engine.pattern.needle import (
    GAP,
    Misfit,
    MisfitError,
    Needle,
    by_needles,
    fixed,
    fixed_item,
    has_markers,
    needed,
    needle_of,
    one,
    without_round_mark,
    yarn_alone,
)
from engine.pattern.needles_apart import counted_only, with_needles_joined
from engine.pattern.notation import (
    ALL_MARKERS,
    BOUND_OFF,
    CENTRE,
    ELSEWHERE,
    Along,
    BindOff,
    CastOn,
    Group,
    Hold,
    HoldWhich,
    InStitch,
    Item,
    JoinRound,
    Marker,
    MarkerMove,
    PickUp,
    Remark,
    StopAt,
    StopWork,
    TakeUp,
    TurnWork,
    Work,
)
from engine.pattern.on_hold import DONE, REST, OnHold, only_yarn, taken_next
from engine.pattern.problems import are, counted, too_few

_MOST_STEPS = 100_000
_MARKS_OF_STEP = 8


def work(needle: Needle, items: tuple[Item, ...]) -> Needle | Misfit:
    """Return the needle after a row, or why the row cannot be worked."""
    after = work_as_flat(needle, items)
    return after if isinstance(after, Misfit) else without_round_mark(after)


def work_as_flat(needle: Needle, items: tuple[Item, ...]) -> Needle | Misfit:
    """Like `work`, with markers kept where they may be those of the beginning of the round."""
    if by_needles(items):
        joined = with_needles_joined(items)
        return counted_only(needle, items) if joined is None else work_as_flat(needle, joined)
    spend(1 + len(needle.marks) // _MARKS_OF_STEP)
    hands = _Hands(needle)
    try:
        hands.work_all(items)
        return hands.end()
    except MisfitError as error:
        return error.misfit


def _has_a_place(item: Item) -> bool:
    """Whether it matters where on the needle an item is worked, not only how often."""
    return isinstance(item, BindOff) or has_markers(item)


def bound_off_places(needle: Needle, items: tuple[Item, ...], *, turned: bool) -> tuple[int, ...]:
    """Return where a row has bound off within itself, in stitches that are left after it."""
    hands = _Hands(needle)
    try:
        hands.work_all(items)
        after = hands.end()
    except MisfitError:
        return ()
    places = hands.bound_at
    if turned:
        return tuple(after.total - place for place in reversed(places))
    return tuple(places)


class _Hands:
    """The two needles while a row is worked. Positions count stitches from the row's beginning."""

    def __init__(self, needle: Needle) -> None:
        self.needle = needle
        self.held = OnHold(needle.held)
        self._begin(needle.segments, needle.marks, needle.behind)
        self.steps = 0
        self.turned = False
        self.bound_last = False
        self.picked_up = False
        self.again = 0
        self.passed: int | None = None
        self.bound_at: list[int] = []
        self.adrift = needle.adrift
        self.joined = False
        self.bound_over: list[tuple[int, str]] = []
        self.taken_up = False

    def _begin(self, segments: tuple[int, ...], marks: tuple[str, ...], behind: int) -> None:
        self.total = sum(segments)
        self.left_marks: list[tuple[int, str]] = []
        position = 0
        for count, name in zip(segments, marks, strict=False):
            position += count
            self.left_marks.append((position, name))
        self.taken = behind
        self.made = behind
        self.right_marks: list[tuple[int, str]] = []
        while self.left_marks and self.left_marks[0][0] < behind:
            self.right_marks.append(self.left_marks.pop(0))
        if behind and self.left_marks and self.left_marks[0] == (behind, GAP):
            self.left_marks.pop(0)
            self.right_marks.append((behind, GAP))

    def work_all(self, items: tuple[Item, ...]) -> None:
        for index, item in enumerate(items):
            self._work(item, items[index + 1 :])

    def _work(self, item: Item, following: tuple[Item, ...]) -> None:
        self.steps += 1
        spend()
        if self.steps > _MOST_STEPS:
            raise MisfitError(Misfit(None, "This row is too long to be worked.", item.at))
        if self.turned and not isinstance(item, Hold | Remark | TurnWork):
            self._turn_round()
        if not isinstance(item, Remark | Marker):
            self.bound_over = []
        if not isinstance(item, Remark):
            self.bound_last = isinstance(item, BindOff) and not item.rest
            self.picked_up = self.picked_up or isinstance(item, PickUp)
        match item:
            case Work() | CastOn() | PickUp() | InStitch():
                takes_leaves = fixed_item(item)
                if takes_leaves is None:
                    raise ValueError("Only fixed items can be worked into one stitch.")
                each = (item.stitch.takes, item.stitch.leaves) if isinstance(item, Work) else (0, 0)
                self._pass(*takes_leaves, each=each)
            case Group():
                self._group(item)
            case Along():
                self._along(item, following)
            case BindOff():
                self._bind_off(item, following)
            case Marker():
                self._marker(item)
            case TurnWork():
                self.turned = True
            case Hold():
                self._where_the_yarn_is_joined(item, following)
                self._hold(item)
            case TakeUp():
                self._take_up(item, following)
            case JoinRound() | Remark():
                pass
            case _:
                assert_never(item)

    def _pass(self, takes: int, leaves: int, each: tuple[int, int] = (0, 0)) -> None:
        """Take and leave stitches; markers on the way go along at the place they have reached."""
        if self.again >= takes > 0 and takes == leaves:
            self.again = 0
            return
        end = self.taken + takes
        # A marker exactly at the end stays on the left needle: the row will say what becomes of it.
        while self.left_marks and self.left_marks[0][0] < end:
            position, name = self.left_marks.pop(0)
            self.passed = position
            gone = position - self.taken
            done = gone // each[0] * each[1] if each[0] else 0
            if name != GAP:
                self.right_marks.append((self.made + done, name))
        self.taken = end
        self.made += leaves
        if self.made > MOST_STITCHES:
            raise MisfitError(Misfit(None, "That would be more stitches than a piece can have."))

    def _cross_marks(self) -> None:
        """Let the markers at this very place go along (a row that does not name them)."""
        while self.left_marks and self.left_marks[0][0] <= self.taken:
            _, name = self.left_marks.pop(0)
            if name != GAP:
                self.right_marks.append((self.made, name))

    def _group(self, item: Group) -> None:
        inner = fixed(item.body)
        times = one(item.times)
        if inner is not None and not any(map(_has_a_place, item.body)):
            self._pass(inner[0] * times, inner[1] * times, each=inner)
            return
        for _ in range(times):
            self.work_all(item.body)

    def _along(self, item: Along, following: tuple[Item, ...]) -> None:
        end = self._end_of(item.stop, following, item.at)
        available = end - self.taken
        inner = fixed(item.body)
        if available < 0:
            if self.adrift:
                return
            raise MisfitError(Misfit(available, too_few(-available, self.total), item.at))
        if inner is None or any(map(_has_a_place, item.body)):
            self._along_markers(item, end)
            return
        step, made = inner
        if step <= 0:
            message = "What is repeated here takes no stitch, so it would never end."
            raise MisfitError(Misfit(None, message, item.at))
        times, over = divmod(available, step)
        if over and not self.adrift:
            of_all = f" of {self.total}" if available < self.total else ""
            message = f"{counted(over)} would be left over: a repeat of {step} has"
            message += f" {available}{of_all} stitches to fill"
            raise MisfitError(Misfit(over, message, item.at))
        self._pass(times * step, times * made, each=inner)
        self.taken += over
        self.made += over

    def _along_markers(self, item: Along, end: int) -> None:
        while self.taken < end:
            before = self.taken
            self.work_all(item.body)
            if self.taken <= before:
                message = "What is repeated here gets no further, so it would never end."
                raise MisfitError(Misfit(None, message, item.at))
        if self.taken > end:
            raise MisfitError(
                Misfit(end - self.taken, too_few(self.taken - end, self.total), item.at)
            )

    def _end_of(self, stop: StopWork, following: tuple[Item, ...], at: int) -> int:
        left = one(stop.left)
        match stop.kind:
            case StopAt.END:
                return self.total - left
            case StopAt.REST:
                return self.total - needed(following)
            case StopAt.MARKER:
                return self._mark_position(stop.mark, at) - left
            case StopAt.GAP:
                for position, name in self.left_marks:
                    if name == GAP and position - left >= self.taken:
                        return position - left
                raise MisfitError(Misfit(None, "No short row was turned further on.", at))

    def _mark_position(self, name: str, at: int) -> int:
        marks = [(position, mark) for position, mark in self.left_marks if mark != GAP]
        for position, mark in marks:
            here = mark == BOUND_OFF and 0 < position == self.taken  # the gap is reached already
            if (mark == name or not name) and not here:
                return position
        if name == CENTRE and all(mark != CENTRE for _, mark in marks):
            if self.total % 2:
                return (self.total - 1) // 2
            message = f"{self.total} stitches have no middle stitch"
            raise MisfitError(Misfit(1, message, at))
        if name == BOUND_OFF:
            message = "No stitches were bound off further on, on the row before"
            raise MisfitError(Misfit(None, message, at))
        if self.needle.in_the_round and not marks:
            return self.total  # the marker at the beginning of the round
        which = f"No marker {name.upper()}" if name else "No marker"
        message = f"{which} is on the needle further on; say where it is placed (pm)"
        raise MisfitError(Misfit(None, message, at))

    def _bind_off(self, item: BindOff, following: tuple[Item, ...]) -> None:
        if item.amount is not None:
            passed = len(self.right_marks)
            self._pass(one(item.amount), 0)
            self.bound_over = self.right_marks[passed:]
            # One of what is made next is the stitch that binding off leaves, before the gap.
            self.bound_at.append(self.made)
            return
        end = self._end_of(item.stop, following, item.at) if item.stop is not None else self.total
        if end < self.taken:
            raise MisfitError(
                Misfit(end - self.taken, too_few(self.taken - end, self.total), item.at)
            )
        self._pass(end - self.taken, 0)

    def _marker(self, item: Marker) -> None:
        if item.move is MarkerMove.PLACE:
            if len(self.right_marks) >= MOST_MARKERS:
                message = f"No needle holds more than {MOST_MARKERS:,} markers"
                raise MisfitError(Misfit(None, message, item.at))
            self.right_marks.append((self.made, item.name))
            return
        if item.name == ALL_MARKERS and item.move is MarkerMove.REMOVE:
            self.left_marks = [mark for mark in self.left_marks if mark[1] == GAP]
            self.right_marks = [mark for mark in self.right_marks if mark[1] == GAP]
            return
        if item.move is MarkerMove.REMOVE and self.bound_over:
            # "bo 10, removing marker": it stood among the stitches that are gone
            self.right_marks = self.right_marks[: -len(self.bound_over)]
            self.bound_over = []
            return
        at_start_of_round = self.needle.in_the_round and self.taken in {0, self.total}
        while self.left_marks and self.left_marks[0] == (self.taken, GAP):
            self.left_marks.pop(0)
        if self.left_marks and self.left_marks[0][0] == self.taken:
            _, name = self.left_marks.pop(0)
            if item.move is MarkerMove.SLIP:
                self.right_marks.append((self.made, name))
            return
        if at_start_of_round or self.adrift:
            return
        ahead = [position for position, name in self.left_marks if name != GAP]
        if not ahead and self.passed is not None:
            beyond = self.taken - self.passed
            message = f"The marker was passed {counted(beyond)} before this; "
            message += f"with {counted(beyond)} fewer before it this would fit"
            raise MisfitError(Misfit(-beyond, message, item.at))
        if not ahead:
            message = "No marker is on the needle here; say where it is placed (pm)"
            raise MisfitError(Misfit(None, message, item.at))
        off_by = ahead[0] - self.taken
        message = f"The marker comes only after {counted(off_by)} more; "
        message += "work them before it, or place the marker earlier"
        raise MisfitError(Misfit(off_by, message, item.at))

    def _hold(self, item: Hold) -> None:
        if item.parted:
            self.held.part(one(item.amount or (0,)), item.name, item.at)
            return
        self._cross_marks()
        there = self.total - self.taken
        match item.which:
            case HoldWhich.NEXT if item.amount is not None:
                count = one(item.amount)
                over = count - there if self.needle.in_the_round else 0
                over = over if 0 < over <= min(there, self.made - 1) else 0
                if over:  # "k to last 5 sts, slip next 10": five of the next round
                    self.right_marks = [(p - over, n) for p, n in self.right_marks if p > over]
                self.made -= over
                passed = len(self.right_marks)
                self._pass(count - over, 0)
                self.bound_over = self.right_marks[passed:]
            case HoldWhich.LAST if item.amount is not None:
                # The last of the row lie at the far end: the others are passed over unworked.
                count = one(item.amount)
                self._pass(there - count, there - count, each=(1, 1))
                self._pass(count, 0)
            case _:
                count = there
                if item.which is HoldWhich.ALL and item.amount not in {None, (there,)}:
                    said = one(item.amount or (0,))
                    message = f"{counted(there)} {are(there)} on the needle, "
                    message += f"{said} {are(said)} put on hold"
                    raise MisfitError(Misfit(there - said, message, item.at))
                self._pass(count, 0)
        rest = self.turned and count == there
        done = item.which is HoldWhich.ALL and not self.turned
        self.held.put(item.name or (REST if rest else DONE if done else "holder"), count)

    def _where_the_yarn_is_joined(self, item: Hold, following: tuple[Item, ...]) -> None:
        """Like "slip centre st on a pin, rejoin yarn to rem 42 sts": held stitches or live ones."""
        take = next((one for one in following if not isinstance(one, Remark)), None)
        if not isinstance(take, TakeUp) or take.beside or item.amount is None or item.parted:
            return
        if item.which is not HoldWhich.NEXT:
            return
        laid_aside, live = one(item.amount), self.total - self.taken
        said = one(take.amount) if take.amount is not None else None
        if said is None:
            # Within a row the yarn is at the live ones.
            at_hand = bool(self.held) and not self.taken
            of_the_held = at_hand and self.held.under(self.held.last) > laid_aside
            of_the_live = live > laid_aside
        else:
            of_the_held = self.held.could_be(laid_aside + said)
            of_the_live = live == laid_aside + said
        if of_the_held and of_the_live:
            message = "It is not clear to which stitches the yarn is joined; say it in two lines"
            raise MisfitError(Misfit(None, message, take.at))
        if of_the_held:
            whole = None if said is None else (laid_aside + said,)
            self._take_up(replace(take, amount=whole), ())
        self.joined = of_the_held or of_the_live

    def _take_up(self, item: TakeUp, following: tuple[Item, ...]) -> None:
        if self.joined:
            self.joined = False
            return
        if only_yarn(item) and (self.taken_up or taken_next(following)):
            return
        self.taken_up = True
        if item.name == ELSEWHERE:
            self._insert(one(item.amount or (0,)))
            return
        if item.beside and item.name and item.amount is not None:
            # "k 32 instep sts": taken up only where they are not on the needle already.
            missing = one(item.amount) - (self.total - self.taken)
            if missing <= 0:
                return
            if not self.held and self.needle.in_the_round and self.total == self.taken:
                self.again = one(item.amount)  # past the beginning of the round
                return
        if not self.held and item.beside:
            return  # on a needle of their own all the time: the count tells
        live = self.total - self.taken
        if self.taken and live and not item.beside and item.amount in {None, (live,)}:
            return  # within a row: a second ball is joined to the stitches that come next
        if not self.held and yarn_alone(self.needle, item):
            return
        if not self.held:
            raise MisfitError(Misfit(None, "No stitches are on hold to be taken up", item.at))
        said = one(item.amount) if item.amount is not None else None
        name = item.name if self.held.named(item.name) else self.held.meant(said)
        if item.whole and said is not None and not self.held.could_be(said):
            there = self.held.under(name)
            message = f"{counted(there)} {are(there)} on hold, not {said}"
            raise MisfitError(Misfit(there - said, message, item.at))
        if said is None:
            self.held.one_place(name, item.at)
        waiting = 0 if item.beside or item.name else self.held.left_behind(said, item.at)
        count = self.held.take(REST if waiting else name, said, item.at)
        if not item.beside and self.total > self.taken:
            others = self.total - self.taken
            self.held.put("other side", others)
            self.total, self.left_marks = self.taken, []
        if item.beside:
            self._insert(count)
            return
        self.total += waiting + count
        self.taken, self.made = self.taken + waiting, self.made + waiting

    def _insert(self, count: int) -> None:
        """Put stitches onto the left needle, to be worked next."""
        self.left_marks = [(position + count, name) for position, name in self.left_marks]
        self.total += count

    def _turn_round(self) -> None:
        """Turn the work within a written row and go on with what the row says next."""
        after = self._turned()
        self.adrift = self.adrift or self.needle.in_the_round
        self._begin(after.segments, after.marks, after.behind)
        self.turned = False

    def _turned(self) -> Needle:
        unworked = self.total - self.taken
        if unworked < 0:
            raise MisfitError(Misfit(unworked, too_few(-unworked, self.total)))
        marks = [*self.right_marks]
        if unworked:
            marks.append((self.made, GAP))
        shift = self.made - self.taken
        marks.extend(
            (position + shift, name)
            for position, name in self.left_marks
            if position > self.taken or name != GAP
        )
        total = self.made + unworked
        turned = [(total - position, name) for position, name in reversed(marks)]
        return needle_of(self.needle, total, turned, unworked, self.held.groups)

    def end(self) -> Needle:
        """Return the needle as the next row finds it."""
        if self.turned:
            after = self._turned()
            if self.needle.in_the_round:
                return replace(after, adrift=True, behind=0)
            return after
        self._cross_marks()
        over = self.total - self.taken
        if over == 1 and self.bound_last:
            # The stitch that binding off has left on the right needle is the last of the row.
            self.taken, self.made, over = self.taken + 1, self.made + 1, 0
        if over == self.total and self.picked_up:  # beside the live ones, none of them worked
            self.taken, self.made, over = self.total, self.made + over, 0
        if over and not self.adrift:
            left = f"{counted(over)} would be left over: {self.total} {are(self.total)} there"
            message = left if over > 0 else too_few(-over, self.total)
            raise MisfitError(Misfit(over, message))
        total = self.made + over if self.adrift else self.made
        if self.needle.in_the_round:
            after = needle_of(self.needle, total, self.right_marks, 0, self.held.groups)
            return replace(after, adrift=False)
        turned = [(total - position, name) for position, name in reversed(self.right_marks)]
        return needle_of(self.needle, total, turned, 0, self.held.groups)
