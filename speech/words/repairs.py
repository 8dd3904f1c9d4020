"""What people say who think or correct themselves: "ehm", a word twice, "one hundred, no, ninety".

It is told apart by words alone, so it is the same for what was joined over a pause.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from speech.words.phrases import PhraseBook

_LONGEST_TWICE = 3
"""So many words may be said twice in a row."""

Words = tuple[str, ...]


def repaired(words: str, book: PhraseBook) -> Iterator[str]:
    """
    Yield what words may say once they are repaired; nothing if there is nothing to repair.

    Fillers count for nothing, but behind one at the end there is more to come: then it is nothing
    yet. Words that are said twice count once, but digits do not: "two two" may be a number. What
    stands behind "no" replaces the number before it, or begins anew.
    """
    said = tuple(words.split())
    plain = _without_fillers(said, book)
    if plain is None:
        return
    plain = _once(plain, book)
    if plain != said:
        yield " ".join(plain)
    for better in _corrected(plain, book):
        yield " ".join(better)


def _without_fillers(said: Words, book: PhraseBook) -> Words | None:
    """Return words without fillers; None if they end in one."""
    found: list[str] = []
    at, ends_in_one = 0, False
    while at < len(said):
        filler = _at(said, at, book.fillers)
        ends_in_one = bool(filler)
        if not filler:
            found.append(said[at])
        at += len(filler) or 1
    return None if ends_in_one else tuple(found)


def _at(said: Words, at: int, phrases: Sequence[Words]) -> Words:
    """Return the longest of some phrases that stands at a place; () if none does."""
    fitting = [one for one in phrases if said[at : at + len(one)] == one]
    return max(fitting, key=len, default=())


def _once(said: Words, book: PhraseBook) -> Words:
    digits = {*book.numbers.ones, *book.numbers.zeros}
    found: list[str] = []
    for word in said:
        found.append(word)
        for long in range(1, _LONGEST_TWICE + 1):
            last = found[-long:]
            if found[-2 * long : -long] == last and not digits.issuperset(last):
                del found[-long:]
                break
    return tuple(found)


def _corrected(said: Words, book: PhraseBook) -> Iterator[Words]:
    """Yield what is meant by words in which one thing is taken back."""
    places = [(at, one) for at in range(len(said)) if (one := _at(said, at, book.repairs))]
    if len(places) != 1:
        return
    at, taken_back = places[0]
    before, behind = said[:at], said[at + len(taken_back) :]
    if not before or not behind:
        return
    if behind[0] == before[0]:
        yield behind
        return
    numbers = book.numbers.everything
    last = len(before)  # the end of the last number before
    while last and before[last - 1] not in numbers:
        last -= 1
    first = last
    while first and before[first - 1] in numbers:
        first -= 1
    if first == last or behind[0] not in numbers:
        return
    tail, after = before[last:], 0
    while after < len(behind) and behind[after] in numbers:
        after += 1
    if after == len(behind):
        yield (*before[:first], *behind, *tail)
    elif behind[after : after + len(tail)] == tail:
        yield (*before[:first], *behind)
