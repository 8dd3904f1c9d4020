"""
Which words of our patterns are idle: changed or deleted, nothing that is said of the piece changes.

For every written row each number is changed and each stitch word deleted in turn. Then the rows
that are worked must be others, or the line be refused or found wrong: a word for which none of
this holds was read past. `python -m tests.patterns.idle_words` goes through all of them (long)
and writes the share that is idle, and each idle word; `sample` only through the lines whose idle
words are the bound of the ordinary tests.
"""

from __future__ import annotations

import json
import random
import re
import sys
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, read_pattern

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

HERE = Path(__file__).parent
BOUND = HERE / "modern" / "idle_words.txt"
FILES = (
    *sorted(HERE.joinpath("modern").glob("*.toml")),
    *sorted(HERE.parents[1].joinpath("shared", "patterns").glob("*.toml")),
)
_TEXT = re.compile(r'^\s*(?:\{.*?\btext\s*=\s*)?"((?:[^"\\]|\\.)*)"')
_NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_WORD = re.compile(
    r"(?P<number>\d+)"
    rf"|\b(?P<word>{'|'.join((*_NUMBERS, 'twice', 'once'))})\b"
    r"|\b(?P<stitch>[kp](?=\d| |,|;|\.|$)|knit|purl|sl|slip|ssk|ssp|skp|sk2p|cdd|psso|[kp]fb|yo"
    r"|yrn|yfwd|m1[lrp]?|pm|sm|rm|turn|w&t|(?:bind|cast) o(?:ff|n)|bo|co|dec|inc|decreas(?:e|ing)"
    r"|increas(?:e|ing)|pick up|tog|place|leave|return)\b",
    re.IGNORECASE,
)
_NAMED_ONLY = {
    "text", "note", "line", "label", "words", "id", "title", "section", "marks", "source",
}  # fmt: skip
_ROW_LABEL = re.compile(r"(?:row|rnd|round)s? [\d ,and&-]+", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Change:
    """One word of one row changed: where it stands, and the pattern's text with it changed."""

    file: str
    line: int
    column: int
    word: str
    text: str

    @property
    def key(self) -> str:
        """How the word is called in the list of idle ones."""
        return f"{self.file}:{self.line}:{self.column} {self.word}"


def changes_of(path: Path) -> tuple[str, list[Change]]:
    """Return the text of a pattern and every change of one word in its rows."""
    text = path.read_text(encoding="utf-8")
    document = read_pattern(text, row_reader())
    if not isinstance(document, PatternDocument) or any(not one.ok for one in document.check()):
        return text, []  # refused or found wrong as it stands
    rows = {
        line.source.line
        for piece in document.pieces
        for section in piece.sections
        for line in section.lines
    }
    return text, list(_changes(path.stem, text, rows))


def lines_alone() -> Iterator[tuple[str, list[Change]]]:
    """Yield each right single line of `lines.txt` as a pattern, with its changes."""
    listed = HERE.joinpath("modern", "lines.txt").read_text(encoding="utf-8")
    for number, line in enumerate(listed.splitlines(), start=1):
        if line.startswith(("#", "?")):
            continue
        before, words, after = line.split(" | ")
        if not after.isdigit():
            continue
        in_the_round = json.dumps("rnd" in words.casefold())
        row = json.dumps(words, ensure_ascii=False)
        head = f'title = "x"\ncast_on = {before}\nin_the_round = {in_the_round}\nrows = [\n'
        text = f"{head}{row},\n]\n"
        yield text, list(_changes(f"lines.txt:{number}", text, {5}))


def _changes(name: str, text: str, rows: set[int]) -> Iterator[Change]:
    lines = text.splitlines()
    for number in sorted(rows):
        line = lines[number - 1]
        quoted = _TEXT.match(line)
        if quoted is None:
            continue
        begun = quoted.start(1)
        for found in _WORD.finditer(quoted[1]):
            new = _changed(found)
            start, end = begun + found.start(), begun + found.end()
            row = f"{line[:start]}{new}{line[end:]}"
            changed = "\n".join([*lines[: number - 1], row, *lines[number:]])
            yield Change(name, number, start, found.group(), changed)


def _changed(found: re.Match[str]) -> str:
    if found["number"] is not None:
        return str(int(found["number"]) + 1)
    word = (found["word"] or "").casefold()
    if word in _NUMBERS:
        return _NUMBERS[(_NUMBERS.index(word) + 1) % len(_NUMBERS)]
    return {"once": "twice", "twice": "once"}.get(word, "")


def is_idle(change: Change, before: object) -> bool:
    """Whether a change changes nothing, and nothing is found wrong with it."""
    after = said_of(change.text)
    return after is not None and after == before


def said_of(text: str) -> object:
    """Return all that is worked in every size and piece; None if it is refused or found wrong."""
    document = read_pattern(text, row_reader())
    if not isinstance(document, PatternDocument):
        return None
    verdicts = document.check()
    if any(not verdict.ok or verdict.warnings for verdict in verdicts):
        return None
    sizes: Sequence[str | None] = document.sizes or (None,)
    return tuple(
        (
            tuple(count.stitches for count in verdict.counts),
            tuple(
                _worked(document.course(size, piece.title).parts)
                if len(document.pieces) > 1
                else _worked(document.course(size).parts)
                for piece in document.pieces
            ),
        )
        for size, verdict in zip(sizes, verdicts, strict=True)
    )


def _worked(value: object) -> object:
    """Return a value without the designer's own words."""
    if is_dataclass(value) and not isinstance(value, type):
        return (
            type(value).__name__,
            *(
                _worked(getattr(value, one.name))
                for one in fields(value)
                if one.compare and (one.name not in _NAMED_ONLY or _is_row_label(value, one.name))
            ),
        )
    if isinstance(value, list | tuple):
        return tuple(_worked(one) for one in value)
    if isinstance(value, dict):
        return tuple((key, _worked(one)) for key, one in value.items())
    if isinstance(value, str | int | float | Enum | None):
        return value
    names = getattr(type(value), "__slots__", None) or sorted(getattr(value, "__dict__", {}))
    named = [name for name in names if name not in _NAMED_ONLY and not name.startswith("_")]
    return (type(value).__name__, *(_worked(getattr(value, name)) for name in named))


def _is_row_label(value: object, name: str) -> bool:
    return name == "label" and _ROW_LABEL.fullmatch(str(getattr(value, name))) is not None


def bound() -> frozenset[str]:
    """Return the words that are known to be idle."""
    listed = BOUND.read_text(encoding="utf-8").splitlines()
    return frozenset(line for line in listed if line and not line.startswith("#"))


def everything() -> Iterator[tuple[str, list[Change]]]:
    """Yield the text and the changes of every right pattern and every right single line."""
    yield from (changes_of(path) for path in FILES)
    yield from lines_alone()


def sample() -> list[tuple[str, list[Change]]]:
    """Return the single lines, drawn once and for all, that the ordinary tests go through."""
    return random.Random(20).sample(list(lines_alone()), 150)


def idle_in(patterns: Iterable[tuple[str, list[Change]]]) -> tuple[list[str], int]:
    """Return the idle words of patterns, and how many words were changed."""
    idle: list[str] = []
    total = 0
    for text, changes in patterns:
        before = said_of(text) if changes else None
        if before is None:
            continue
        total += len(changes)
        idle.extend(one.key for one in changes if is_idle(one, before))
    return idle, total


def main(arguments: Sequence[str]) -> int:
    """Go through everything, or the sample, and write what is idle."""
    idle, total = idle_in(sample() if "sample" in arguments else everything())
    share = f"# {len(idle)} of {total} words are idle: {100 * len(idle) / total:.2f} %"
    sys.stdout.write("\n".join([share, *idle, ""]))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
