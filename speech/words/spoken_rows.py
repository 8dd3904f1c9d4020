"""
What is worked in a row, in whole words: "knit one, slip slip knit, knit to the end".

The words are data (speech.words.wording reads them); here is only how English strings them
together. Within a repeat a comma parts the stitches, at its end a semicolon does, so that a voice
pauses there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, assert_never

from engine.pattern.notation import (
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
    TurnKind,
    TurnWork,
    Work,
)
from engine.pattern.stitches import STITCHES, Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from engine.pattern.instruction import Instruction
    from engine.pattern.stitches import Stitch
    from speech.words.spoken_numbers import Speller
    from speech.words.templates import SentenceForm, Template

_TOGETHER = re.compile(r"([kp])(\d+)tog")
_CABLE_PART = re.compile(r"\d+|[a-z]+|/")
_PAUSES = frozenset(",;:")
_PLAIN_WORDS = frozenset({"work", "drop", "chart"})
"""Names in the table of stitches that are words already."""
_ABBREVIATION = re.compile(r"[a-z][a-z0-9&]*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class RowWords:
    """The words for everything that a row can contain."""

    speller: Speller
    stitches: Mapping[str, Template]
    along: Mapping[str, str]
    together: Mapping[str, Template]
    cables: Mapping[str, str]
    how: Mapping[str, str]
    row: Mapping[str, Template]
    prose: Mapping[str, str]
    """Abbreviations of words that are no stitches ("sts"), by the words that are spoken."""

    def say(self, instruction: Instruction) -> str:
        """Say a row, or a bit of one, in whole words."""
        if instruction.text:
            return self.spelled_out(instruction.text)
        return self._items(instruction.items)

    def spelled_out(self, text: str) -> str:
        """
        Return the designer's own text with the abbreviations that are known in words.

        It is what the row reader does not understand, so the rest stays as it was written.
        """
        return _ABBREVIATION.sub(lambda found: self._spelled(found[0]), text)

    def _spelled(self, word: str) -> str:
        small = word.lower()
        counted = re.fullmatch(r"(k|p|sl)(\d{1,4})", small)
        if counted:
            return self._times_worked(STITCHES[counted[1]], int(counted[2]))
        if _TOGETHER.fullmatch(small) or (
            small in self.stitches and len(small) > 1 and small not in _PLAIN_WORDS
        ):
            name = STITCHES.get(small)
            return self._together(small) if name is None else self._times_worked(name, 1)
        return self.how.get(small, self.prose.get(small, word))

    # --- items ---------------------------------------------------------------------------------

    def _items(self, items: Iterable[Item]) -> str:
        said, before = "", ""
        for words in map(self._item, items):
            if said:
                said += "; " if _PAUSES & {*words, *before} else ", "
            said += words
            before = words
        return said

    def _item(self, item: Item) -> str:  # noqa: PLR0911 (one case an item)
        match item:
            case Work():
                return self._work(item)
            case Group():
                times = self._times(_number(item.times))
                return self._row("group", times=times, body=self._items(item.body))
            case InStitch():
                name = "in_stitch" if item.takes == 1 else "in_loops"
                return self._row(name, count=item.takes, body=self._items(item.body))
            case Along():
                return self._along(item)
            case BindOff():
                return self._with_how(self._bind_off(item), item.how)
            case CastOn():
                return f"{self._row('cast_on', count=_number(item.amount))} {item.how}".strip()
            case PickUp():
                return f"{self._row('pick_up', count=_number(item.amount))} {item.along}".strip()
            case Marker():
                return f"{self._row(item.move.value)} {item.name.upper()}".strip()
            case TurnWork():
                return self._row("turn" if item.kind is TurnKind.PLAIN else "wrap_and_turn")
            case Hold():
                return self._hold(item)
            case TakeUp():
                if item.amount is None:
                    return self._row("take_up")
                return self._row("take_up_some", count=_number(item.amount))
            case JoinRound():
                return self._row("join_round")
            case Remark():
                return self.spelled_out(item.text)
            case _:
                assert_never(item)

    def _work(self, item: Work) -> str:
        said = self._times_worked(item.stitch, _number(item.amount), item.how)
        if item.colour:
            said += f" {self._row('with_colour', colour=item.colour)}"
        return said

    def _times_worked(self, stitch: Stitch, count: int, how: tuple[str, ...] = ()) -> str:
        template = self.stitches.get(stitch.name)
        if template is not None and "count" in template.names:
            return self._with_how(self._fill(template, count=count), how)
        said = self._fill(template) if template is not None else self._own_name(stitch)
        said = self._with_how(said, how)
        return said if count == 1 else f"{said}, {self._times(count)}"

    def _own_name(self, stitch: Stitch) -> str:
        if _TOGETHER.fullmatch(stitch.name):
            return self._together(stitch.name)
        if stitch.kind is Kind.CABLE:
            return self._cable(stitch)
        return stitch.words or stitch.name

    def _together(self, name: str) -> str:
        found = _TOGETHER.fullmatch(name)
        if found is None:
            raise ValueError(f"'{name}' does not work stitches together.")
        return self._fill(self.together[found[1]], count=int(found[2]))

    def _cable(self, stitch: Stitch) -> str:
        parts = _CABLE_PART.findall(stitch.name)
        said: list[str] = []
        for part in parts:
            if part == "/":
                said.append(self.cables["over"])
            elif part.isdigit():
                said.append(self.speller.whole(int(part)))
            elif part in self.cables:
                said.append(self.cables[part])
            else:
                count = self.speller.whole(stitch.takes)
                return self.cables["other"].replace("{count}", count)
        return " ".join(said)

    def _along(self, item: Along) -> str:
        stop = self._stop(item.stop)
        only = item.body[0]
        if len(item.body) == 1 and isinstance(only, Work) and only.amount == (1,):
            said = self.along.get(only.stitch.name)
            if said is not None and not only.colour:
                return f"{self._with_how(said, only.how)} {stop}"
            return f"{self._work(only)} {stop}"
        return self._row("repeat", body=self._items(item.body), stop=stop)

    def _stop(self, stop: StopWork) -> str:
        left = _number(stop.left)
        match stop.kind:
            case StopAt.END:
                return self._row("to_last", count=left) if left else self._row("to_end")
            case StopAt.REST:
                return self._row("to_rest")
            case StopAt.MARKER:
                name = "before_marker" if left else "to_marker"
                if stop.mark:
                    name = "before_named_marker" if left else "to_named_marker"
                return self._row(name, count=left, mark=stop.mark.upper())
            case StopAt.GAP:
                return self._row("before_gap" if left else "to_gap", count=left)
            case _:
                assert_never(stop.kind)

    def _bind_off(self, item: BindOff) -> str:
        said = self._bound_off(item)
        return f"{said} {self.spelled_out(item.manner)}" if item.manner else said

    def _bound_off(self, item: BindOff) -> str:
        if item.amount is not None:
            return self._row("bind_off", count=_number(item.amount))
        if item.stop is not None:
            return self._row("bind_off_to", stop=self._stop(item.stop))
        return self._row("bind_off_all")

    def _hold(self, item: Hold) -> str:
        if item.amount is None:
            return self._row("hold_rest" if item.which is HoldWhich.REST else "hold_all")
        names = {HoldWhich.NEXT: "hold_next", HoldWhich.LAST: "hold_last"}
        return self._row(names.get(item.which, "hold_some"), count=_number(item.amount))

    # --- words ---------------------------------------------------------------------------------

    def _with_how(self, said: str, how: tuple[str, ...]) -> str:
        return " ".join([said, *(self.how.get(word, word) for word in how)])

    def _times(self, count: int) -> str:
        match count:
            case 1:
                return self._row("once")
            case 2:
                return self._row("twice")
            case _:
                return self._row("times", count=count)

    def _row(self, name: str, **values: object) -> str:
        return self._fill(self.row[name], **values)

    def _fill(self, template: Template, **values: object) -> str:
        return template.fill(values, self._write)

    def _write(self, value: object, _form: SentenceForm) -> str:
        return self.speller.whole(value) if isinstance(value, int) else str(value)


def _number(amount: Amount) -> int:
    """Return the number of the size that is knitted: an instruction is for one size."""
    return amount[0] or 0
