"""
From the phrases of a line to the items of a row.

Stars open and close repeats, "rep from *" says how often, "psso" belongs to the slip before it,
and a number of stitches at the end of a line is what the designer states. What is meant follows
from the order of the phrases alone; what is worked into what is never guessed from counts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.pattern import phrases as ph
from engine.pattern.notation import (
    NEEDLE,
    Along,
    Amount,
    BindOff,
    CastOn,
    Group,
    Hold,
    HoldWhich,
    InStitch,
    Item,
    JoinRound,
    Marker,
    PickUp,
    Remark,
    StopAt,
    StopWork,
    TakeUp,
    TurnWork,
    Work,
)
from engine.pattern.row_changes import add_change, work_until_made
from engine.pattern.row_parts import (
    PASSED,
    cast_on_after_turning,
    grouped,
    over_so_many,
    plain_work,
    problem_in_row,
    small,
    start_of_repeated,
    without_verbs,
)
from engine.pattern.stated import StatedCounts
from engine.pattern.stitches import STITCHES, Kind

ItemTypes = (
    Work, Group, InStitch, Along, BindOff, CastOn, PickUp, Marker, TurnWork, Hold, TakeUp,
    JoinRound,
    Remark,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """What is worked in a row, and how many stitches the designer states after it."""

    items: tuple[Item, ...]
    stated: ph.Stated | None = None
    changed: ph.Stated | None = None
    """By how many stitches the row changes the count, where that is stated beside the count."""


def row_of(phrases: tuple[ph.Phrase, ...]) -> Row:
    """Return the row that phrases mean; raises PatternError at what does not belong into a row."""
    if any(isinstance(phrase, ph.OnNeedle) for phrase in phrases):
        return _needle_by_needle(phrases)
    builder = _RowBuilder()
    for phrase in without_verbs(phrases):
        builder.add(phrase)
    return builder.row()


def _needle_by_needle(phrases: tuple[ph.Phrase, ...]) -> Row:
    """Return a round that is said needle by needle: "to end" is the end of the needle."""
    items: list[Item] = []
    stated: ph.Stated | None = None
    changed: ph.Stated | None = None
    name, begun = f"{NEEDLE} 1", 0
    ends = [n for n, phrase in enumerate(phrases) if isinstance(phrase, ph.OnNeedle)]
    for end in [*ends, len(phrases)]:
        own = row_of(phrases[begun:end])
        stated, changed = own.stated or stated, own.changed or changed
        items.extend(_ended_at(item, name) for item in own.items)
        if end < len(phrases):
            here = phrases[end]
            if isinstance(here, ph.OnNeedle):
                name = here.name
                items.append(Remark(f"{name.capitalize()}:", here.at))
        begun = end + 1
    return Row(tuple(items), stated, changed)


def _ended_at(item: Item, needle: str) -> Item:
    if isinstance(item, Along) and item.stop.kind in {StopAt.END, StopAt.REST}:
        return replace(item, stop=StopWork(StopAt.MARKER, item.stop.left, needle))
    return item


class _RowBuilder:
    def __init__(self) -> None:
        self.items: list[Item] = []
        self.stated = StatedCounts()
        self.on_cable: list[Amount] = []
        self.open: dict[str, int] = {}
        self.closed: dict[str, tuple[int, int]] = {}
        self.used: set[str] = set()
        self.colour = ""

    def row(self) -> Row:
        items = cast_on_after_turning(tuple(self.items))
        for sign in self.open:
            if sign not in self.used and sign not in self.closed:
                raise problem_in_row(
                    f"'{sign}' begins a repeat, but nothing says 'rep from {sign}'.", 0
                )
        if self.on_cable:
            raise problem_in_row("Stitches are left on the cable needle.", 0)
        return Row(items, self.stated.in_all(), self.stated.changed)

    def add(self, phrase: ph.Phrase) -> None:  # noqa: C901, PLR0912, PLR0915 (a case a phrase)
        match phrase:
            case Work():
                if "from cn" in phrase.how:
                    self._from_cable(phrase)
                self.items.append(self._coloured(phrase))
            case ph.Bare():
                item = phrase.item
                if isinstance(item, Work):
                    self.items.append(Along((self._coloured(item),), at=phrase.at))
            case ph.To():
                self._to(phrase)
            case ph.Bracket():
                self._bracket(phrase)
            case ph.Star():
                self._star(phrase)
            case ph.RepeatFrom():
                self._repeat(phrase)
            case ph.PhraseTimes():
                self._repeat(ph.RepeatFrom("", times=phrase, said=False, at=phrase.at))
            case ph.Into():
                self._into(phrase)
            case ph.PassOver():
                self._pass_over(phrase)
            case ph.ColourChange():
                self.colour = phrase.colour
            case ph.Stated():
                self.stated.state(phrase)
            case ph.BareNumber():
                self.stated.state(ph.Stated(phrase.amount, at=phrase.at))
            case ph.OnHolder():
                self._on_holder(phrase)
            case Hold(which=HoldWhich.ALL, amount=None) if self._just_worked():
                self._on_holder(ph.OnHolder(phrase.name, these=True, at=phrase.at))
            case ph.InPattern():
                self._in_pattern(phrase)
            case ph.ShapingManner() if self.items and isinstance(self.items[-1], BindOff):
                self.items[-1] = replace(self.items[-1], manner=phrase.text.strip())
            case ph.ShapingManner() | ph.SideFacing() | ph.Evenly() | ph.EveryRow():
                pass
            case ph.UntilCount():
                self.stated.state(ph.Stated(phrase.amount, at=phrase.at))
            case ph.Change():
                add_change(self.items, phrase)
            case ph.AcrossHeld():
                whence, at = phrase.whence, phrase.at
                taken = TakeUp(phrase.whose, phrase.amount, beside=True, whence=whence, at=at)
                self.items.extend((taken, phrase.work))
            case ph.These():
                self._these(phrase)
            case ph.Wraps():
                if not (self.items and isinstance(self.items[-1], Along)):
                    self.items.append(Work(STITCHES["work"], at=phrase.at))
            case ph.EndWith():
                self._end_with()
            case ph.AlsoPickedUp():
                if not any(isinstance(item, PickUp) for item in self.items):
                    self.stated.part(phrase.amount)
                else:
                    self.items.append(PickUp(phrase.amount, phrase.along, phrase.at))
            case ph.OnNeedle():
                self.items.append(Remark(f"{phrase.name.capitalize()}:", phrase.at))
            case ph.Remaining():
                self._repeat(
                    ph.RepeatFrom("", StopWork(left=phrase.amount), said=False, at=phrase.at)
                )
            case ph.Made():
                work_until_made(self.items, phrase)
            case ph.OnCable():
                self._on_cable(phrase)
            case (
                ph.When() | ph.Again() | ph.UntilWorked()
                | ph.RepeatRows() | ph.HowManyRows() | ph.UntilMeasures() | ph.UntilSame()
                | ph.Ending() | ph.Beginning() | ph.PhrasePlace() | ph.Schedule() | ph.AsGiven()
                | ph.Meanwhile() | ph.InThisWay()
            ):  # fmt: skip
                raise problem_in_row(
                    "This does not belong into a row; write it as a line of its own.", phrase.at
                )
            case _:
                self.items.append(phrase)

    def _coloured(self, item: Work) -> Work:
        return replace(item, colour=self.colour) if self.colour and not item.colour else item

    # --- ends ----------------------------------------------------------------------------------

    def _to(self, phrase: ph.To) -> None:
        item = phrase.item
        if not isinstance(item, Work):
            raise problem_in_row("This cannot be worked to an end.", phrase.at)
        item = self._coloured(item)
        if phrase.made is not None:
            self.items.append(Along((item,), at=phrase.at))
            work_until_made(self.items, phrase.made)
            return
        if phrase.said_amount or (self._open_star() is not None and item.amount != (1,)):
            # "k1, p1 to end": everything since the star, or all the plain stitches before it.
            start = self._open_star()
            if start is None:
                start = len(self.items)
                while start and plain_work(self.items[start - 1]):
                    start -= 1
            else:
                self._use_star()
            last = self.items[-1] if self.items else None
            one_only = isinstance(last, Work) and last.stitch.net and item.amount == (1,)
            if start == len(self.items) and one_only and self._open_star() is None:
                raise problem_in_row("Set a star where the repeat to the end begins.", phrase.at)
            body = (*self.items[start:], item)
            del self.items[start:]
            self.items.append(
                Along(body, phrase.stop, star=len(body) > 1 or item.amount != (1,), at=phrase.at)
            )
            return
        self.items.append(Along((item,), phrase.stop, at=phrase.at))

    def _open_star(self) -> int | None:
        waiting = [sign for sign in self.open if sign not in self.closed and sign not in self.used]
        return self.open[waiting[-1]] if waiting else None

    def _use_star(self) -> None:
        waiting = [sign for sign in self.open if sign not in self.closed and sign not in self.used]
        self.used.add(waiting[-1])

    # --- brackets and stars --------------------------------------------------------------------

    def _bracket(self, phrase: ph.Bracket) -> None:
        if phrase.phrases and all(
            isinstance(part, ph.Stated | ph.BareNumber) for part in phrase.phrases
        ):
            for part in phrase.phrases:
                self.add(part)
            return
        if self._said_in_brackets(phrase):
            return
        inner = _RowBuilder()
        inner.colour = self.colour
        for part in phrase.phrases:
            inner.add(part)
        row = inner.row()
        if row.stated is not None:
            self.stated.state(row.stated)
        if row.changed is not None:
            self.stated.state(row.changed)
        body = row.items
        if not body:
            self.colour = inner.colour
            return
        self._drop_verb()
        if phrase.into is not None:
            if phrase.times is not None:
                body = (grouped(body, phrase.times, star=False, at=phrase.at),)
            self.items.append(InStitch(body, phrase.into, phrase.at))
        elif phrase.stop is not None:
            self.items.append(Along(body, phrase.stop, star=True, at=phrase.at))
        elif phrase.times is not None:
            self.items.append(grouped(body, phrase.times, star=False, at=phrase.at))
        else:
            self.items.append(Group(body, at=phrase.at))

    def _said_in_brackets(self, phrase: ph.Bracket) -> bool:
        """Take "(3 times)", "(rep from * to end)", "(dec 1 st)" as if no brackets stood there."""
        said = [part for part in phrase.phrases if not isinstance(part, ph.Evenly)]
        alone = said[0] if len(said) == 1 else None
        if phrase.times is not None or phrase.stop is not None or phrase.into is not None:
            return False
        last = self.items[-1] if self.items else None
        match alone:
            case ph.PhraseTimes() if isinstance(last, Along):
                if not last.star or last.stop.kind not in {StopAt.END, StopAt.REST}:
                    raise problem_in_row("It is not clear what is done so often.", alone.at)
                self.items[-1] = Group(last.body, alone.amount, star=True, at=last.at)
            case ph.PhraseTimes() | ph.Change():
                self.add(alone)
            case ph.RepeatFrom() if alone.said:
                self.add(alone)
            case _:
                return False
        return True

    def _drop_verb(self) -> None:
        """Like "Work (k1, p1) twice": "work" only says that something is done."""
        last = self.items[-1] if self.items else None
        if isinstance(last, Along) and last.stop == StopWork() and not last.star:
            only = last.body[0]
            if isinstance(only, Work) and only.stitch.name == "work":
                self.items.pop()

    def _end_with(self) -> None:
        """Like "K2, p2 across, ending k2": the end is before what is still to be said."""
        last = self.items[-1] if self.items else None
        if isinstance(last, Along) and last.stop == StopWork():
            self.items[-1] = replace(last, stop=StopWork(StopAt.REST))

    def _star(self, phrase: ph.Star) -> None:
        self._drop_verb()
        sign = phrase.sign
        if sign in self.open and sign not in self.closed and sign not in self.used:
            self.closed[sign] = (self.open[sign], len(self.items))
            return
        self.open[sign] = len(self.items)
        self.closed.pop(sign, None)
        self.used.discard(sign)

    def _repeat(self, phrase: ph.RepeatFrom) -> None:
        sign = self._sign_of(phrase)
        if sign is None:
            self._repeat_last(phrase)
            return
        start, end = self.closed.get(sign, (self.open[sign], len(self.items)))
        body = tuple(self.items[start:end])
        if not body:
            raise problem_in_row("Nothing stands between the star and 'rep from'.", phrase.at)
        self.used.add(sign)
        self.closed.pop(sign, None)
        if end == len(self.items):
            del self.items[start:]
            self.items.append(self._repeated(body, phrase, first=True))
        else:
            self.items.append(self._repeated(body, phrase, first=False))

    def _sign_of(self, phrase: ph.RepeatFrom) -> str | None:
        if phrase.sign:
            sign = phrase.sign
            if sign in self.open:
                return sign
            # "rep from * to *" names the sign twice; "rep from asterisk" not at all.
            for known in reversed(self.open):
                if sign.strip(known) == "" and sign:
                    return known
            raise problem_in_row(f"No '{sign[0]}' stands before 'rep from {sign[0]}'.", phrase.at)
        waiting = [sign for sign in self.open if sign in self.closed or sign not in self.used]
        if not waiting:
            return None
        if not phrase.said and waiting[-1] not in self.closed and phrase.times is not None:
            return None
        return waiting[-1]

    def _repeated(self, body: tuple[Item, ...], phrase: ph.RepeatFrom, *, first: bool) -> Item:
        if phrase.over is not None:
            return over_so_many(body, phrase.over, phrase.at, first=first)
        if phrase.times is None:
            stop = phrase.stop or StopWork(StopAt.REST)
            return Along(body, stop, star=True, at=phrase.at)
        times = phrase.times
        if not phrase.said:
            return grouped(body, times, star=True, at=phrase.at)
        added = 1 if first else 0
        if times.more is False:
            count = tuple(number and number - (1 - added) for number in times.amount)
            return Group(body, count, star=True, at=phrase.at)
        count = tuple(None if number is None else number + added for number in times.amount)
        unsure = times.more is None and first
        return Group(body, count, star=True, unsure=unsure, at=phrase.at)

    def _repeat_last(self, phrase: ph.RepeatFrom) -> None:
        """Like "(k2, p2), rep to end", "(k2, p2), 3 times", "k2, p2 to end"."""
        if not self.items:
            raise problem_in_row("Nothing stands here to be repeated.", phrase.at)
        last = self.items[-1]
        if (
            isinstance(last, Along)
            and last.stop == StopWork()
            and not last.star
            and phrase.stop is not None
            and not phrase.said
        ):
            self.items[-1] = replace(last, stop=phrase.stop)  # "work in patt to last 4 sts"
            return
        if isinstance(last, Group) and last.times == (1,) and not last.star:
            body: tuple[Item, ...] = last.body
            self.items.pop()
        elif phrase.said or phrase.stop is not None:
            start = len(self.items)
            while start and plain_work(self.items[start - 1]):
                start -= 1
            if phrase.said and start:
                start = start_of_repeated(self.items, phrase)
            elif start == len(self.items):
                start -= 1
            body = tuple(self.items[start:])
            del self.items[start:]
        else:
            body = (self.items.pop(),)
        self.items.append(self._repeated(body, phrase, first=phrase.said))

    # --- what belongs to what stands before it -------------------------------------------------

    def _into(self, phrase: ph.Into) -> None:
        if not self.items:
            raise problem_in_row("Nothing stands here to be worked into one stitch.", phrase.at)
        last = self.items[-1]
        if isinstance(last, Group) and last.times == (1,):
            self.items[-1] = InStitch(last.body, phrase.takes, last.at)
            return
        start = len(self.items)
        while start and small(self.items[start - 1]):
            start -= 1
        run = tuple(self.items[start:])
        if len(run) > 1:
            del self.items[start:]
            self.items.append(InStitch(run, phrase.takes, run[0].at))
        # "kfb in next st", "k1 in next st": one stitch into one says nothing new.

    def _pass_over(self, phrase: ph.PassOver) -> None:
        """Like "Sl1, k1, psso" is skp, "sl1, k2tog, psso" sk2p, "sl2, k1, p2sso" s2kp."""
        works = [item for item in self.items[-2:] if isinstance(item, Work)]
        if len(works) == 2:  # noqa: PLR2004 (the slip and what it is passed over)
            slip, after = works
            name = PASSED.get((slip.stitch.name, slip.amount, after.stitch.name, phrase.count))
            if name is not None and after.amount == (1,):
                del self.items[-2:]
                self.items.append(Work(STITCHES[name], at=slip.at, colour=slip.colour))
                return
        name = "p2sso" if phrase.count > 1 else "psso"
        self.items.append(Work(STITCHES[name], at=phrase.at))

    def _just_worked(self) -> bool:
        """Whether "and leave on a holder" means the stitches before it: "k5 and leave on ..."."""
        return bool(self.items) and isinstance(self.items[-1], Work)

    def _on_holder(self, phrase: ph.OnHolder) -> None:
        last = self.items[-1] if self.items else None
        if (
            isinstance(last, Work)
            and not phrase.these
            and last.stitch.kind in {Kind.KNIT, Kind.PURL}
        ):
            return  # "purl 32 onto one needle": worked, and live
        if isinstance(last, Work):
            work = self.items.pop()
            if isinstance(work, Work):
                self.items.append(Hold(HoldWhich.NEXT, work.amount, phrase.name, work.at))
                return
        if phrase.these and not self.items:
            self.items.append(Hold(HoldWhich.ALL, None, phrase.name, phrase.at))
            return
        raise problem_in_row("Say which stitches are put on hold.", phrase.at)

    def _these(self, phrase: ph.These) -> None:
        """Like "cast on 6 sts, k these 6 sts": they are on the right needle already."""
        work = phrase.work
        last = next((item for item in reversed(self.items) if not isinstance(item, Remark)), None)
        if not isinstance(work, Work):
            raise problem_in_row("Say which stitches are worked here.", phrase.at)
        if isinstance(last, CastOn):
            if last.amount != work.amount:
                raise problem_in_row("These are not as many as were cast on.", phrase.at)
            work = replace(work, stitch=replace(work.stitch, takes=0, leaves=0))
        self.items.append(self._coloured(work))

    def _on_cable(self, phrase: ph.OnCable) -> None:
        """Like "sl2 onto cn, k2, k2 from cn": the slipped ones are worked later."""
        last = self.items[-1] if self.items else None
        slipped = isinstance(last, Work) and last.stitch.name == "sl"
        if isinstance(last, Work) and slipped:
            self.on_cable.append(last.amount)
            self.items.pop()
            return
        if isinstance(last, Hold) and last.which is HoldWhich.NEXT and last.amount is not None:
            self.on_cable.append(last.amount)
            self.items.pop()
            return
        raise problem_in_row("Say how many stitches are slipped onto the cable needle.", phrase.at)

    def _from_cable(self, work: Work) -> None:
        """Compare "k2 from cn" with the stitches that were slipped onto it."""
        if work.amount not in self.on_cable:
            raise problem_in_row("Not so many stitches are on the cable needle.", work.at)
        self.on_cable.remove(work.amount)

    def _in_pattern(self, phrase: ph.InPattern) -> None:
        """Like "Work 5 in patt", "patt as set to end": the words before it say how many."""
        if phrase.work or not self.items or not isinstance(self.items[-1], Work | Along):
            work = Work(STITCHES["work"], at=phrase.at)
            self.items.append(Along((work,), at=phrase.at))
