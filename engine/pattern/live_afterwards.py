"""
What the free words of a line do to the stitches: only some are worked on, or none stay live.

"Turn and work on these 12 sts only" leaves the others waiting; "fasten off last st" and "draw
through rem sts" leave none. The words are kept as they are; here they are understood.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.pattern.count_map import CountMap
from engine.pattern.hands import bound_off_places
from engine.pattern.in_this_way_lines import InThisWayLines
from engine.pattern.instruction import Instruction
from engine.pattern.lines import LineKind, prepare
from engine.pattern.made_up import not_made_up
from engine.pattern.needle import GAP, without_first
from engine.pattern.notation import Hold, HoldWhich, Remark, amount_for
from engine.pattern.on_hold import REST, WAITING
from engine.pattern.spelling import amount_of
from engine.pattern.tree import Event, RowSpec

if TYPE_CHECKING:
    from engine.pattern.lines import Prepared
    from engine.pattern.needle import Needle

_NUMBER = r"(?P<number>\d+(?: ?[(\[{][\d\s,;:/|-]*[)\]}])?)"
_ONLY = re.compile(
    r"^(?:work|cont|proceed|comple[t])\w* (?:(?:the )?(?:heel flap|heel|flap|thumb|tab) )?"
    r"(?:back and forth )?(?:in rows )?(?:only )?(?:on|over|with) (?:only )?"
    r"(?P<these>(?:(?:these|those|this|the|just) )*)"
    rf"(?P<first>first )?(?:(?:last|next|rem|remaining|set of|one|left|right) )*(?:{_NUMBER} )?"
    r"(?:[a-z]+ )?(?:sts|stitches|side|set|half)\b",
    re.IGNORECASE,
)
_ONE_SIDE = re.compile(r"\b(?:side|half|shoulder|front)\b.* (?:only|first)\b", re.IGNORECASE)
_KEPT = r"(?:(?:the|all|both|of|these|those|your|rem\w*|live|open|last|final)\b\.? ?)*"
_DRAWN = re.compile(
    r"\b(?:thread|draw|pull|run|pass|slip)\w*\b[^.;]*?\bthrough "
    rf"(?P<kept>{_KEPT})(?:{_NUMBER} )?"
    r"(?P<what>(?:rem\w* |live )*(?:sts|stitches|loops|st|stitch|loop)\b)"
    r"|\bgather\w*\b[^.;]*\b(?P<gathered>sts|stitches)\b"
    r"|\b(?:thread|draw|run)\w*\b[^.;]*\bthrough\b(?P<through>[^.;]*\bfasten)",
    re.IGNORECASE,
)
_FASTENED = re.compile(
    r"(?<!not )\bfasten(?:ing)? off\b(?: (?P<kept>(?:the |last |rem\w* |final )+)"
    r"(?P<what>sts|stitches|loops|st|stitch|loop)\b)?",
    re.IGNORECASE,
)
_GRAFTED = re.compile(
    rf"\bgraft\w*(?: or (?:b\.?o\.?|(?:bind|cast)[ -]off))? (?P<kept>{_KEPT})(?:{_NUMBER} )?"
    r"(?P<what>(?:rem\w* |live )*(?:sts|stitches)\b)"
    r"|\bgraft\w* (?:the )?(?:top|toe|tip)(?: of (?:the )?[a-z]+)?"
    r"(?: closed| shut| together| (?:with|using|in) [^.;]*)?\s*(?:[.;,]|$)",
    re.IGNORECASE,
)
_LAST_OF_ALL = re.compile(r"last|final|rem", re.IGNORECASE)


_THESE_FORM = re.compile(
    rf"^(?:these|last) {_NUMBER} (?:sts|stitches) (?:form|make)\b", re.IGNORECASE
)


_UNWORKED = re.compile(
    rf"^[(\[]{_NUMBER} (?:sts?|stitches) (?:(?:left|rem\w*) )?unworked(?P<where> at .*)?[)\]]",
    re.IGNORECASE,
)
_ORDINALS = {"third": 3, "fourth": 4, "4th": 4, "sixth": 6, "eighth": 8}
_WHICH_MARKER = re.compile(
    r"\b(?:rnd|round)\b.* (?:is|counts as) the (?P<which>third|fourth|4th|sixth|eighth)\b",
    re.IGNORECASE,
)


class AfterwardsLines(InThisWayLines):
    """Does what the free words of a line mean, before or after its rows."""

    def _words_first(self, prepared: Prepared) -> Prepared:
        """
        Lay aside what is not worked on, where the line begins by saying so.

        Returns the line without the words that only say where the others are left.
        """
        first = prepared.phrases[0] if prepared.phrases else None
        before = self.needle
        if isinstance(first, Remark) and len(prepared.phrases) > 1:
            self._only_these(first, prepared)
        if self.needle is before or prepared.row is None:
            return prepared
        rest = [phrase for phrase in prepared.phrases if not _the_others(phrase)]
        if len(rest) == len(prepared.phrases):
            return prepared
        line = replace(prepared.line, phrases=tuple(rest))
        return prepare(prepared.source, line, note=prepared.note)

    def _words_last(self, prepared: Prepared) -> None:
        """Do what the words after (or without) rows say."""
        remarks = [phrase for phrase in prepared.phrases if isinstance(phrase, Remark)]
        if not remarks:
            return
        if len(prepared.phrases) == 1 or remarks[-1] is not prepared.phrases[0]:
            self._only_these(remarks[-1], prepared)
        for remark in remarks:
            self._these_form(remark, prepared)
            self._left_at_ends(remark, prepared)
            if self.needle is not None and (
                wrong := not_made_up(remark.text, self.needle.total, self.size)
            ):
                self._add_problem(wrong, prepared, prepared.label, None)
        self._secured(", ".join(remark.text for remark in remarks), prepared)

    def _these_form(self, remark: Remark, prepared: Prepared) -> None:
        """Compare "these 30 sts form the heel" with the stitches that are worked on."""
        said, needle = _THESE_FORM.match(remark.text), self.needle
        number = self._number(said["number"]) if said is not None else None
        if needle is None or number is None:
            return
        there = needle.total - needle.behind
        if number not in {there, needle.total, needle.behind}:
            self._add_problem(
                f"{there} stitches are worked on here, {number} are stated.",
                prepared, prepared.label, there - number,
            )  # fmt: skip

    def _left_at_ends(self, remark: Remark, prepared: Prepared) -> None:
        """Compare "(75 sts unworked at each end)" and "the rnd marker is the fourth marker"."""
        needle = self.needle
        if needle is None:
            return
        if (said := _UNWORKED.match(remark.text)) is not None:
            number = self._number(said["number"])
            ends = [needle.behind]
            if said["where"] is not None:
                beyond = needle.segments[-1] if GAP in needle.marks else 0
                ends = [beyond, needle.behind] if "each" in said["where"] else [beyond]
            wrong = next((there for there in ends if number is not None and there != number), None)
            if wrong is not None and number is not None:
                self._add_problem(
                    f"{wrong} stitches are left unworked here, {number} are stated.",
                    prepared, prepared.label, wrong - number,
                )  # fmt: skip
        if (marker := _WHICH_MARKER.search(remark.text)) is not None:
            there = 1 + sum(mark != GAP for mark in needle.marks)
            if there != _ORDINALS[marker["which"].casefold()]:
                self._add_problem(
                    f"There are {there} markers here, with that of the round.",
                    prepared, prepared.label, None,
                )  # fmt: skip

    # --- only some of the stitches -----------------------------------------------------------

    def _only_these(self, remark: Remark, prepared: Prepared) -> None:
        needle = self.needle
        if needle is None:
            return
        said = _ONLY.search(remark.text)
        if said is None:
            if needle.behind and _ONE_SIDE.search(remark.text) and not self.in_the_round:
                self._leave_waiting(without_first(needle, needle.behind), remark, prepared)
            return
        only = re.search(r"\bonly\b|\bfirst$", remark.text) is not None
        number = self._number(said["number"])
        kept: Needle | None = None
        if needle.behind:
            if not only and (self.in_the_round or not said["these"]):
                return
            kept = without_first(needle, needle.behind)
            if number is not None and GAP in kept.marks and kept.segments[0] == number:
                kept = _before(kept, number)  # stitches wait on both sides of them
        elif number is not None and number < needle.total and said["first"] is not None:
            kept = _before(needle, number)
        elif only or (number is not None and number < needle.total):
            kept = self._last_side(needle)
        if kept is not None and number in {None, kept.total}:
            self._leave_waiting(kept, remark, prepared)
            return
        if number is not None and number != needle.total:
            there = kept.total if kept is not None else needle.total
            self._add_problem(
                f"{there} stitches are there to be worked on, {number} are stated.",
                prepared, prepared.label, there - number,
            )  # fmt: skip

    def _last_side(self, needle: Needle) -> Needle | None:
        """Return the needle with the stitches worked last, if a gap was bound off before them."""
        if self.bound is None or self.in_the_round or not needle.plain:
            return None
        on, items, rows = self.bound
        places = [p for p in bound_off_places(on, items, turned=False) if 0 < p < needle.total]
        if rows != self.rows or len(places) != 1:
            return None
        return _before(needle, needle.total - places[0])

    def _leave_waiting(self, kept: Needle, remark: Remark, prepared: Prepared) -> None:
        before = self.needle
        if before is None or before.total == kept.total:
            return
        behind, beyond = before.behind, before.total - kept.total - before.behind
        groups = (("holder" if not behind else REST, beyond), (WAITING, behind))
        held = (*before.held, *(group for group in groups if group[1]))
        self.needle = replace(kept, held=held)
        self._happened(remark.text, prepared)

    # --- none of the stitches ----------------------------------------------------------------

    def _secured(self, words: str, prepared: Prepared) -> None:
        """Stitches that are drawn up or fastened off are live no more."""
        needle = self.needle
        if needle is None or not needle.total:
            return
        found = _DRAWN.search(words) or _GRAFTED.search(words)
        if found is not None:
            single = (found["what"] or "").endswith(("st", "stitch", "loop"))
            number = self._number(found["number"])
            kept = found["kept"] or ""
        else:
            found = _FASTENED.search(words)
            if found is None:
                return
            single = found["what"] is None or found["what"] in {"st", "stitch", "loop"}
            number, kept = None, found["kept"] or ""
        if single and needle.total > 1:
            if _LAST_OF_ALL.search(kept):
                number = 1
            else:
                return
        if number is not None and number != needle.total:
            self._add_problem(
                f"{needle.total} stitches are on the needle here, {number} are stated.",
                prepared, prepared.label, needle.total - number,
            )  # fmt: skip
            return
        self.needle = needle.with_total(0)
        self._happened(words, prepared)

    # -----------------------------------------------------------------------------------------

    def _number(self, words: str | None) -> int | None:
        amount = amount_of(words) if words is not None else None
        if amount is None or len(amount) <= self.size < 1:
            return None
        return amount_for(amount, self.size)[0] if len(amount) != 1 else amount[0]

    def _happened(self, words: str, prepared: Prepared) -> None:
        """Put what has happened between two rows into the course, with its count."""
        total = self.needle.total if self.needle is not None else 0
        spec = RowSpec(
            Instruction(text=words), prepared.label, prepared.source.line,
            effect=CountMap(0, total),
        )  # fmt: skip
        of_row = bool(self.counts) and self.counted is prepared.source
        self._emit(Event(spec, within=of_row))
        if of_row:
            label = self.counts.pop().row
            self._count(prepared)
            self.counts[-1] = replace(self.counts[-1], row=label)
        elif prepared.kind in {LineKind.REMARK, LineKind.EVENT, LineKind.ROW}:
            self._count(prepared)


def _the_others(phrase: object) -> bool:
    """Whether this is "leaving rem sts on a holder"."""
    return isinstance(phrase, Hold) and phrase.which is HoldWhich.REST


def _before(needle: Needle, count: int) -> Needle:
    """Return the needle with only so many stitches at its beginning."""
    segments: list[int] = []
    left = count
    for segment in needle.segments:
        segments.append(min(segment, left))
        left -= segments[-1]
        if not left:
            break
    return replace(
        needle, segments=tuple(segments), marks=needle.marks[: len(segments) - 1], behind=0
    )
