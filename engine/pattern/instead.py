"""
What could stand in a row in the place of a word that cannot be read.

Nothing is guessed from spelling: the usual words of the trade, and those that the pattern defines,
are put there one after the other, and the row is read and worked again with each. Only which of
those is named first goes by the word that stands there.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

from engine.pattern.assembly_state import SectionLines
from engine.pattern.document import PatternDocument, PieceText
from engine.pattern.problems import PatternError
from engine.pattern.row_reader import WORD, LineReader
from engine.pattern.set_aside import LIVE
from engine.pattern.written import WrittenLines

if TYPE_CHECKING:
    from engine.pattern.lines import Prepared
    from engine.pattern.notation import Amount
    from engine.pattern.problems import Problem
    from engine.pattern.row_reader import RowReader
    from engine.pattern.toml_positions import Value

_USUAL = (
    "k", "p", "sl", "k2tog", "p2tog", "k3tog", "p3tog", "ssk", "ssp", "sssk", "skp", "sk2p",
    "s2kp", "cdd", "psso", "kfb", "pfb", "kfbf", "yo", "yo twice", "m1", "m1l", "m1r", "m1p",
    "tbl", "wyif", "wyib", "bo", "co", "bind off", "cast on", "cast off", "pm", "sm", "rm", "w&t",
    "turn", "rep from *", "to end", "to last 2 sts", "times", "knit", "purl", "slip", "work",
    "until piece measures", "ending with a ws row", "every row", "in st st", "in garter st",
    "rep last 2 rows", "dec 1 st", "inc 1 st", "each end", "at beg of next 2 rows", "row", "rnd",
    "pick up and knit", "rejoin yarn", "c4f", "c4b", "k1 below", "around", "across", "twice",
)  # fmt: skip
"""Tried in this order: the stitches, then what says how far, how often and where."""

_BRACKETS = "()[]{}*"


@dataclass(frozen=True, slots=True)
class Instead:
    """
    What is known of a row that cannot be read.

    `word` is what stops the reading, at `offset` in `text`; "" where the row's end is missed.
    `words` are those with any of which there the whole row is read; only those with which it adds
    up in every size, if `adds_up`. `live` is the first word that keeps the row from being a note:
    it names a stitch, an amount, a row, a side or a needle. "" where it could be one.
    """

    text: str
    offset: int
    word: str
    words: tuple[str, ...]
    adds_up: bool
    live: str


def instead(document: PatternDocument, problem: Problem, reader: RowReader) -> Instead | None:
    """Return what could stand where a problem of `document.unread` points; None if it is no row."""
    for piece in document.pieces:
        for section in piece.sections:
            patterns = (one for lines in section.patterns.values() for one in lines)
            for part in (*section.lines, *patterns):
                offset = _offset(part.source, problem)
                if offset is not None:
                    return _tried(document, piece, section, part, offset, reader)
    return None


def _offset(source: Value, problem: Problem) -> int | None:
    last = source.line + source.raw.count("\n")
    if problem.line is None or not source.line <= problem.line <= last:
        return None
    text = str(source.value)
    place = problem.line, problem.column
    return next((at for at in range(len(text) + 1) if source.place(at) == place), len(text))


def _tried(
    document: PatternDocument,
    piece: PieceText,
    section: SectionLines,
    part: Prepared,
    offset: int,
    reader: RowReader,
) -> Instead:
    text = str(part.source.value)
    while 0 < offset < len(text) and text[offset - 1 : offset + 1].isalnum():
        offset -= 1  # of "k2tgo" the k2 was read
    found = WORD.match(text, offset)
    word = found.group() if found is not None and found.group() not in _BRACKETS else ""
    lines = WrittenLines(LineReader(reader, document.names), document.sizes)
    own = (*document.names.stitches, *document.names.patterns)
    before = _before(document, piece, part.source.line)
    fitting: list[str] = []
    whole: list[str] = []
    for one in (*own, *_USUAL) if word else ():
        changed = f"{text[:offset]}{one}{text[offset + len(word) :]}"
        try:
            parts = lines.prepared(part.source, changed, None, "")
        except PatternError:
            continue
        whole.append(one)
        if before is not None and _adds_up(document, piece, section, parts, before):
            fitting.append(one)
    words = fitting or whole
    like = get_close_matches(word.casefold(), words, n=2)
    words = [*like, *(one for one in words if one not in like)]
    return Instead(text, offset, word, tuple(words), bool(fitting), _live(text))


def _live(text: str) -> str:
    """Return the whole word that keeps a text from being a note, as it is written; "" for none."""
    found = LIVE.search(text.casefold())
    word = WORD.match(text, found.start()) if found is not None else None
    return word.group() if word is not None else ""


def _before(document: PatternDocument, piece: PieceText, line: int) -> Amount | None:
    """Return the stitches before a row in every size; None where they are not known."""
    first = min(
        (part.source.line for section in piece.sections for part in section.lines), default=0
    )
    counts: list[int] = []
    for size, verdict in enumerate(document.check()):
        known = [count.stitches for count in verdict.counts if first <= count.line < line]
        cast_on = piece.cast_on
        start = None if cast_on is None else cast_on[size if len(cast_on) > 1 else 0]
        stitches = known[-1] if known else start
        if stitches is None:
            return None
        counts.append(stitches)
    return tuple(counts)


def _adds_up(
    document: PatternDocument,
    piece: PieceText,
    section: SectionLines,
    parts: tuple[Prepared, ...],
    before: Amount,
) -> bool:
    """Whether a row, worked by itself on the stitches before it, adds up in every size."""
    lines = SectionLines("row", "", parts, section.patterns)
    alone = PieceText("", before, piece.in_the_round, (lines,))
    trial = PatternDocument("", document.sizes, (), "", "", "", (), (alone,), "")
    return all(verdict.ok for verdict in trial.check())
