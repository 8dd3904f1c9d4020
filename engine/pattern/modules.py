"""Squares and strips joined as they are knitted: "Second square: ... cont as for first square"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from engine.pattern import phrases as ph
from engine.pattern.lines import LineKind, Prepared
from engine.pattern.notation import Remark

if TYPE_CHECKING:
    from collections.abc import Sequence

_KIND = (
    r"(?P<kind>square|module|motif|triangle|block|patch|mitre|miter|diamond|strip|point|scallop"
    r"|leaf|petal|section)"
)
_FIRST = re.compile(rf"\b(?:the )?(?:first|1st) {_KIND}\b")
_LEAD = re.compile(rf"\s*(?:(?P<first>first|1st)|second|2nd|third|3rd|next|other|last) {_KIND}\b")


def means_first_module(words: str) -> bool:
    """Whether the words of "cont as for first square" name the first of several modules."""
    return _FIRST.search(words) is not None


def first_module(words: str, own: Sequence[Prepared]) -> tuple[Prepared, ...]:
    """
    Return the lines of the first module that are still to be worked; empty where that is unclear.

    `own` are the lines of the piece before. Within a later module, which has to be called so
    ("Second square: ..."), they are all of the first one, or those after the rows that were
    repeated by number just before.
    """
    named = _FIRST.search(words)
    if named is None:
        return ()
    leads = [
        (index, found)
        for index, line in enumerate(own)
        if (found := _lead(line)) is not None and found["kind"] == named["kind"]
    ]
    later = [index for index, found in leads if not found["first"]]
    if not later:
        return ()
    begun = next((index for index, found in leads if found["first"]), 0)
    first, here = own[begun : later[0]], own[later[-1] : len(own)]
    repeats = [line for line in here if line.kind is not LineKind.REMARK][1:]
    if not repeats:
        return tuple(first)
    said = repeats[-1].first(ph.RepeatRows)
    if len(repeats) > 1 or not isinstance(said, ph.RepeatRows) or not said.numbers:
        return ()
    done = [index for index, line in enumerate(first) if max(said.numbers) in _numbers(line)]
    return tuple(first[done[-1] + 1 :]) if done else ()


def _lead(line: Prepared) -> re.Match[str] | None:
    """Return how a line is called before its words: "Second square: ..."."""
    begins = line.phrases[0] if line.phrases else None
    if not isinstance(begins, Remark) or line.part:
        return None
    return _LEAD.match(begins.text.casefold())


def _numbers(line: Prepared) -> tuple[int, ...]:
    return line.line.heading.numbers if line.line.heading is not None else ()
