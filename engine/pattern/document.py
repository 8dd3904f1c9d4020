"""A pattern as it was read: its pieces, the verdict on every size, the course of a size."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

from engine.limits import STEPS_OF_PATTERN, Allowance, TooMuchWorkError
from engine.pattern.assemble import Assembler
from engine.pattern.course import Course
from engine.pattern.notation import Amount, Remark, amount_for
from engine.pattern.other_pieces import PieceTakenIn
from engine.pattern.problems import PatternError, Problem, count_differs
from engine.pattern.row_reader import NO_NAMES, Names
from engine.pattern.row_work import BEFORE_NOT_KNOWN
from engine.pattern.spelling import amount_of

if TYPE_CHECKING:
    from engine.pattern.assembly_state import Assembled, RowCount, SectionLines
    from engine.pattern.lines import Prepared
    from engine.pattern.toml_positions import Value
    from engine.quantities import Length


@dataclass(frozen=True, slots=True)
class SizeVerdict:
    """What the check of one size says: `ok` only when every row adds up."""

    size: str | None
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...]
    counts: tuple[RowCount, ...]

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems


@dataclass(frozen=True, slots=True)
class WrittenLine:
    """
    One written row of the file as it was read, from `line` to `last` of the file.

    `states_count` says whether the designer says how many stitches there are after it, `aside` are
    its words that are kept and not worked, `named` whether it belongs to a stitch pattern, which
    is worked where its name stands.
    """

    line: int
    last: int
    text: str
    states_count: bool = False
    aside: tuple[str, ...] = ()
    named: bool = False


@dataclass(frozen=True, slots=True)
class PieceText:
    """One piece of a pattern: its cast-on per size and its sections."""

    title: str
    cast_on: Amount | None
    in_the_round: bool
    sections: tuple[SectionLines, ...]
    length: tuple[Length, ...] = ()
    multiple: tuple[int, int] | None = None
    multiple_place: tuple[int, int] = (1, 1)
    stated: tuple[tuple[str, Amount, Value], ...] = ()


@dataclass(frozen=True)
class PatternDocument:
    """A pattern as it was read; `course` puts in the numbers of a size."""

    title: str
    sizes: tuple[str, ...]
    cautions: tuple[str, ...]
    gauge: str
    needle: str
    yarn: str
    facts: tuple[tuple[str, str], ...]
    """What else the designer says, key and text, in order."""
    pieces: tuple[PieceText, ...]
    text_hash: str
    unread: tuple[Problem, ...] = ()
    """What cannot be read, where the pattern was read in spite of it."""
    names: Names = NO_NAMES
    """The stitches, stitch patterns and colours that it defines."""
    allowance: Allowance = field(
        default_factory=lambda: Allowance(STEPS_OF_PATTERN), compare=False, repr=False
    )
    """The work that counting its sizes may still make."""
    _made: dict[tuple[str | None, int], Assembled] = field(
        default_factory=dict, compare=False, repr=False
    )

    def written(self) -> tuple[WrittenLine, ...]:
        """Return every written row once, in the order of the file."""
        found: dict[int, WrittenLine] = {}
        for section in (section for piece in self.pieces for section in piece.sections):
            for part in section.lines:
                _enter(found, part, named=False)
            for part in (one for lines in section.patterns.values() for one in lines):
                _enter(found, part, named=True)
        return tuple(found[line] for line in sorted(found))

    def course(self, size: str | None = None, piece: str | None = None) -> Course:
        """
        Return the course of a piece (the first one) for a size (the first one).

        Raises KeyError for a size or a piece that the pattern does not have, PatternError for one
        that asks for more than is ever knitted.
        """
        number = self._size_number(size)
        index = self._piece_number(piece)
        text = self.pieces[index]
        cast_on = amount_for(text.cast_on, number)[0] if text.cast_on is not None else None
        made = self._assembled(number, index)
        if made.too_much is not None:
            raise PatternError(made.too_much)
        lengths = text.length
        target = (lengths[0] if len(lengths) == 1 else lengths[number]) if lengths else None
        title = self.title if len(self.pieces) == 1 else f"{self.title}: {text.title}"
        return Course(
            title,
            self.sizes[number] if self.sizes else None,
            cast_on,
            text.in_the_round,
            made.parts,
            target,
            self.gauge,
            self.yarn,
            self._faults(made),
        )

    def _faults(self, made: Assembled) -> tuple[Problem, ...]:
        """Return what does not add up; what only follows from a row carried unread is no fault."""
        if not self.unread:
            return made.problems
        return tuple(one for one in made.problems if one.message != BEFORE_NOT_KNOWN)

    def check(self) -> tuple[SizeVerdict, ...]:
        """Return a verdict for every size (one, without a name, if the pattern has no sizes)."""
        verdicts = []
        for number in range(max(len(self.sizes), 1)):
            made = [self._assembled(number, index) for index in range(len(self.pieces))]
            verdicts.append(
                SizeVerdict(
                    self.sizes[number] if self.sizes else None,
                    (
                        *(
                            replace(one, size=self.sizes[number]) if self.sizes else one
                            for one in self.unread
                        ),
                        *(problem for piece in made for problem in piece.problems),
                    ),
                    tuple(warning for piece in made for warning in piece.warnings),
                    tuple(count for piece in made for count in piece.counts),
                )
            )
        return tuple(verdicts)

    def _size_number(self, size: str | None) -> int:
        if size is None:
            return 0
        for number, name in enumerate(self.sizes):
            if name.casefold() == size.casefold():
                return number
        raise KeyError(
            f"The pattern has no size '{size}'; it has {', '.join(self.sizes) or 'one'}."
        )

    def _piece_number(self, piece: str | None) -> int:
        if piece is None:
            return 0
        for number, text in enumerate(self.pieces):
            if text.title.casefold() == piece.casefold():
                return number
        titles = ", ".join(text.title for text in self.pieces if text.title) or "one"
        raise KeyError(f"The pattern has no piece '{piece}'; it has {titles}.")

    def _assembled(self, number: int, index: int) -> Assembled:
        key = (str(number), index)
        if key not in self._made:
            others = tuple(
                PieceTakenIn(piece.title, partial(self._left, number, n))
                for n, piece in enumerate(self.pieces[:index])
            )
            with self.allowance.used():
                self._made[key] = _assemble(self, number, self.pieces[index], others)
        return self._made[key]

    def _left(self, number: int, index: int) -> tuple[int, ...] | None:
        return self._assembled(number, index).left


def _enter(found: dict[int, WrittenLine], part: Prepared, *, named: bool) -> None:
    """Enter a sentence of a row with those of the same row before it."""
    line = part.source.line
    words = tuple(phrase.text for phrase in part.phrases if isinstance(phrase, Remark))
    known = found.get(line)
    before = known.aside if known is not None else ()
    stated = part.stated is not None or (known is not None and known.states_count)
    aside = before if set(words) <= set(before) else (*before, *words)
    last = line + part.source.raw.count("\n")
    found[line] = WrittenLine(line, last, str(part.source.value), stated, aside, named)


def _assemble(
    document: PatternDocument, number: int, piece: PieceText, others: tuple[PieceTakenIn, ...]
) -> Assembled:
    cast_on = amount_for(piece.cast_on, number)[0] if piece.cast_on is not None else None
    name = document.sizes[number] if document.sizes else None
    assembler = Assembler(size=number, name=name, cast_on=cast_on, in_the_round=piece.in_the_round)
    assembler.multiple = piece.multiple
    assembler.others = others
    try:
        for section in piece.sections:
            assembler.add_section(section)
        made = assembler.finish()
    except (TooMuchWorkError, RecursionError):
        return assembler.given_up()
    if piece.multiple is not None and cast_on is not None:
        off = _off_the_multiple(cast_on, piece.multiple)
        if off:
            warning = Problem(off, *piece.multiple_place, None, "cast-on", None, name)
            made = replace(made, warnings=(warning, *made.warnings))
    return _with_stated(made, piece, number, name, cast_on)


def _off_the_multiple(cast_on: int, multiple: tuple[int, int]) -> str:
    """Say that a cast-on is no multiple of so many plus some; nothing if it is."""
    number, plus = multiple
    over = (cast_on - plus) % number
    if cast_on >= plus and not over:
        return ""
    below = [cast_on - over] if cast_on - over >= plus else []
    near = " or ".join(str(legal) for legal in [*below, max(cast_on - over + number, plus)])
    more = f" plus {plus}" if plus else ""
    return f"{cast_on} is no multiple of {number}{more}; {near} would be."


def _with_stated(
    made: Assembled, piece: PieceText, number: int, name: str | None, cast_on: int | None
) -> Assembled:
    """Compare the counts with those that stand in the file apart from the rows."""
    problems = list(made.problems)
    for label, amount, source in piece.stated:
        stated = amount_for(amount, number)[0]
        count = _count_after(made.counts, label)
        total = cast_on if label == "0" else count.stitches if count is not None else None
        if stated is None or total is None or total == stated:
            continue
        row = count.row if count is not None else "cast-on"
        section = count.section if count is not None else None
        sentence = count_differs(total, stated)
        place = source.line, source.column
        problems.append(Problem(sentence, *place, section, row, None, name, total - stated))
    return replace(made, problems=tuple(problems))


def _count_after(counts: tuple[RowCount, ...], label: str) -> RowCount | None:
    for count in counts:
        if count.row.casefold() == label.casefold():
            return count
    wanted = amount_of(label)
    for count in counts:
        numbers = re.findall(r"\d+", count.row)
        if wanted and numbers and int(numbers[-1]) == wanted[-1]:
            return count
    return None
