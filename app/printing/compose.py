"""Puts the printed pattern together: everything a designer hands out, in the order of use."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from app.printing.both_units import in_both_units
from app.printing.handout import handout_of
from app.printing.hands_drawing import hands_sheets
from app.printing.instructions import Instructions
from app.printing.materials import gauge_lines, needle_lines, own_unit
from app.printing.measured import (
    MeasuredSizes,
    graded_measure,
    measured,
    printed,
    read_measurement,
)
from app.printing.one_size import LinePrinter, for_one_size, lines_of, stitches_used
from app.printing.pictures import Pictures
from app.printing.sheet import Measurements, PatternSheet, PieceSheet
from app.printing.walked import datum_of, walk
from app.printing.wording import Abbreviation
from app.wording import reply_wording
from engine.facts.stated_gauge import read_stated_gauge
from engine.pattern.phrases import UntilMeasures
from engine.pattern.stitches import Kind
from engine.plan.tables import care_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from app.printing.data import PrintData
    from app.printing.sheet import SheetPart
    from app.session.settings import YarnHand
    from engine.pattern import PatternDocument, SizeVerdict
    from engine.pattern.document import PieceText

_NOTES: Final = ("source", "note", "notes")
_TEXTS: Final = (
    *_NOTES, "designer", "copyright", "version", "date", "skill", "materials", "colours"
)  # fmt: skip
"""Facts of a pattern file that are texts; the others are measurements."""
_MOST_COLUMNS: Final = 5
"""The measurements of more sizes than that stand in one line instead of in columns."""
_LENGTHS: Final = ("length", "depth", "height")


@dataclass(frozen=True, slots=True)
class Composed:
    """The sheet, and what the designer should know about it: figures that do not agree."""

    sheet: PatternSheet
    remarks: tuple[str, ...]


def compose(
    document: PatternDocument,
    data: PrintData,
    *,
    size: str | None = None,
    left_handed: bool = False,
    large: bool = False,
    handout: bool = False,
    hands: YarnHand | None = None,
) -> Composed:
    """Return the printed pattern of a document, for all its sizes or for one.

    `left_handed` mirrors its pictures, `large` sets the words in them larger, `handout` makes the
    page for a class: one size, its rows in whole words. `hands` adds how its stitches are made, for
    a beginner: the hand that leads the yarn. A pattern that does not add up is composed
    too, with a warning and its problems on the sheet; the caller decides whether that is wanted.
    Raises KeyError for a size that it does not have.
    """
    composer = _Composer(
        document, data, size, left_handed=left_handed, large=large, handout=handout
    )
    made = composer.composed(hands)
    return replace(made, sheet=handout_of(made.sheet)) if handout else made


class _Composer:
    def __init__(
        self,
        document: PatternDocument,
        data: PrintData,
        size: str | None,
        *,
        left_handed: bool,
        large: bool,
        handout: bool,
    ) -> None:
        self.document = document
        self.data = data
        self.say = data.wording.say
        self.left_handed = left_handed
        self.large = large
        self.remarks: list[str] = []
        names = document.sizes or ("",)
        self.number = None if size is None else _number(document.sizes, size)
        self.numbers = tuple(range(len(names))) if self.number is None else (self.number,)
        self.names = tuple(names[number] for number in self.numbers)
        verdicts = document.check()
        self.verdicts: tuple[SizeVerdict, ...] = tuple(verdicts[number] for number in self.numbers)
        self.printer = LinePrinter(document, data.reader, self.number if document.sizes else None)
        self.instructions = Instructions(
            document,
            self.verdicts,
            self.printer,
            data.wording,
            self.number,
            reply_wording().rows if handout else None,
        )

    def composed(self, hands: YarnHand | None) -> Composed:
        document, wording = self.document, self.data.wording
        pieces = tuple(self.piece(piece) for piece in document.pieces)
        patterns = self.instructions.stitch_patterns()
        stated = self.one_size(document.gauge)
        gauge = tuple(gauge_lines(stated, wording)) if stated else ()
        problems = tuple(dict.fromkeys(p for verdict in self.verdicts for p in verdict.problems))
        sheet = PatternSheet(
            language=wording.language,
            headings=wording.headings,
            title=document.title,
            byline=" ".join(self.byline()),
            sizes=tuple(self.size_lines()),
            warning=self.say("does_not_add_up") if problems else "",
            problems=tuple(map(str, problems)),
            verdict=tuple(self.verdict_lines(adds_up=not problems)),
            cautions=tuple(self.caution_lines()),
            measurements=self.measurements(),
            materials=tuple(self.material_lines()),
            gauge=gauge,
            abbreviations=self.abbreviations(pieces, patterns, gauge),
            stitch_patterns=patterns,
            pieces=pieces,
            care=tuple(self.care_lines()),
            facts=tuple(self.fact_lines()),
            foot=self.say("text_mark", hash=document.text_hash[:8]),
            imprint=tuple(self.imprint()),
            hands=()
            if hands is None
            else hands_sheets(stitches_used(document), hands, left_handed=self.left_handed),
        )
        warnings = dict.fromkeys(str(w) for verdict in self.verdicts for w in verdict.warnings)
        return Composed(sheet, (*warnings, *dict.fromkeys(self.remarks)))

    def one_size(self, text: str) -> str:
        """Return a text with the numbers of the chosen size."""
        if self.number is None:
            return text
        return for_one_size(text, len(self.document.sizes), self.number)

    def printed(self, text: str) -> str:
        """Return a text for the chosen size, in both units."""
        return in_both_units(self.one_size(text))

    # --- the top of the sheet -------------------------------------------------------------------

    def byline(self) -> Iterator[str]:
        for name, text in self.document.facts:
            if name == "designer":
                yield self.say("byline", designer=text.rstrip("."))

    def wools(self, letters: Sequence[str]) -> tuple[str, ...]:
        """Return the colours in which the yarns with these letters are drawn."""
        document = self.document
        said = dict(document.facts).get("colours", "")
        return tuple(one.hex for one in self.data.wools.of(document.title, said, letters))

    def imprint(self) -> Iterator[str]:
        """Say which text it is and whose, as far as the designer says so."""
        said = dict(self.document.facts)
        if "version" in said:
            yield self.say("version", version=said["version"])
        if "date" in said:
            yield said["date"]
        if "copyright" in said:
            own = said["copyright"]
            marked = re.match(r"\s*(?:\u00a9|\(c\)|copyright\b)", own, re.IGNORECASE)
            yield own if marked else self.say("copyright", owner=own)

    def size_lines(self) -> Iterator[str]:
        sizes = self.document.sizes
        if len(sizes) <= 1:
            yield self.say("sizes", sizes=sizes[0]) if sizes else self.say("one_size")
        elif self.number is not None:
            others = [name for name in sizes if name != self.names[0]]
            yield self.say("this_size", size=self.names[0], others=_listed(others))
        else:
            yield self.say("sizes", sizes=f"{sizes[0]} ({', '.join(sizes[1:])})")
            yield self.say("how_to_read", first=sizes[0], others=_listed(sizes[1:]))
        for name, text in self.document.facts:
            if name == "skill":
                yield self.say("skill", level=text.rstrip("."))
        if self.left_handed:
            yield self.say("left_handed")

    def verdict_lines(self, *, adds_up: bool) -> Iterator[str]:
        unchecked = self.instructions.unchecked
        if unchecked:
            sentence = "unchecked_one" if unchecked == 1 else "unchecked_many"
            yield self.say("unchecked", count=self.say(sentence, count=unchecked))
        if adds_up and unchecked:
            yield self.say("adds_up_others")
        elif adds_up:
            names = _listed(self.names)
            one = "adds_up_size" if names else "adds_up_one"
            yield self.say("adds_up" if len(self.names) > 1 else one, sizes=names)

    def caution_lines(self) -> Iterator[str]:
        yield from self.document.cautions
        yield from self.child_lines()
        yield self.say("hands", often=self.data.rest_often, stop=self.data.rest_stop)

    def child_lines(self) -> Iterator[str]:
        """Give the published rules on things for small children, if the pattern is for them."""
        wording = self.data.wording
        about = " ".join((self.document.title, *self.document.sizes))
        if not wording.for_a_small_child(about):
            return
        everything = " ".join((about, *(line.line.text for line in lines_of(self.document))))
        rules = [
            rule for rule in self.data.child_rules if wording.rule_applies(rule.about, everything)
        ]
        if rules:
            yield self.say("baby")
        for rule in rules:
            topic = rule.topic[:1].upper() + rule.topic[1:]
            yield self.say("baby_figure", topic=topic, figure=rule.figure, source=rule.source)

    # --- measurements and materials -------------------------------------------------------------

    def measurements(self) -> Measurements | None:
        lines: list[tuple[str, tuple[str, ...]]] = []
        for name, text in self.document.facts:
            if name in _TEXTS:
                continue
            read = read_measurement(text, max(len(self.document.sizes), 1))
            lines.append((_title(name), self.cells(name, text, read)))
        stated = {name.casefold() for name, _ in self.document.facts}
        if not stated & set(_LENGTHS):
            for piece in self.document.pieces:
                if piece.length:
                    lengths = [
                        measured(piece.length[n if len(piece.length) > 1 else 0])
                        for n in self.numbers
                    ]
                    name = " ".join(part for part in (piece.title, "length") if part)
                    lines.append((_title(name), _cells(lengths)))
        columns = self.names if len(self.names) <= _MOST_COLUMNS else ("",)
        return Measurements(columns, tuple(lines)) if lines else None

    def cells(
        self, name: str, text: str, read: tuple[MeasuredSizes | None, ...] | None
    ) -> tuple[str, ...]:
        """Return one text a size, or a single one where they are all the same."""
        if read is None:
            return (in_both_units(text),)
        for one in read:
            if one is not None and one.disagrees:
                self.remarks.append(
                    self.say(
                        "measurement_disagrees",
                        name=_title(name),
                        given=printed(one.given),
                        other=printed(one.other),
                    )
                )
        chosen = [read[number] for number in self.numbers]
        return _cells(chosen)

    def material_lines(self) -> Iterator[tuple[str, tuple[str, ...]]]:
        document, labels = self.document, self.data.wording.labels
        if document.yarn:
            yield labels["yarn"], (self.printed(document.yarn),)
        for name, text in document.facts:
            if name == "colours":
                yield labels["colours"], (text,)
        if document.needle:
            lines, remarks = needle_lines(
                self.one_size(document.needle), self.data.needles, self.data.wording
            )
            self.remarks += remarks
            yield labels["needle"], tuple(lines)
        also = [self.printed(text) for name, text in document.facts if name == "materials"]
        texts = [line.line.text for line in lines_of(document)]
        crossings = any(one.kind is Kind.CABLE for one in stitches_used(document))
        notions = self.data.wording.notions_in(" ".join(texts))
        names = [self.data.wording.notions[name] for name in notions]
        if crossings:
            names.insert(0, self.data.wording.notions["cable"])
        # The designer's own list goes on: "5 buttons, tape measure", unless it is sentences.
        if names and also and ". " not in also[-1]:
            also[-1] = f"{also[-1].rstrip(' .,;')}, {', '.join(names)}"
        elif names:
            also.append(", ".join(names))
        if also:
            yield labels["also"], tuple(also)

    def care_lines(self) -> Iterator[str]:
        fibres = care_of(self.data.fibres, self.document.yarn)
        for fibre in fibres:
            name = fibre.name[:1].upper() + fibre.name[1:]
            line = self.say("care_of", name=name, wash=fibre.wash, dry=fibre.dry)
            yield f"{line} {self.say('care_felts')}" if fibre.felts else line
        if fibres:
            yield self.say("care_label")

    def fact_lines(self) -> Iterator[tuple[str, str]]:
        for name, text in self.document.facts:
            if name in _NOTES:
                yield self.data.wording.labels[name], self.printed(text)

    # --- pieces ---------------------------------------------------------------------------------

    def piece(self, piece: PieceText) -> PieceSheet:
        gauge = read_stated_gauge(self.document.gauge)
        lines = (line for section in piece.sections for line in section.lines)
        measured_from = {
            line.source.line: datum_of(line.line.text, until.where, for_length=until.for_length)
            for line in lines
            if isinstance(until := line.first(UntilMeasures), UntilMeasures)
        }
        walked = [
            walk(
                self.document.course(name or None, piece.title or None),
                gauge.rows_per_10cm if gauge is not None else None,
                measured_from,
            )
            for name in self.names
        ]
        title = piece.title or self.document.title
        own = [stitch for stitch in stitches_used(self.document) if stitch.words]
        pictures = Pictures(
            title,
            walked,
            self.names,
            self.data,
            own,
            left_handed=self.left_handed,
            large=self.large,
        )
        charts = pictures.charts()
        parts, finishing = self.instructions.parts(
            piece, [one.estimates for one in walked], pictures.counted()
        )
        return PieceSheet(
            title=piece.title,
            cast_on=self.instructions.cast_on(piece),
            parts=parts,
            chart_reading=pictures.reading() if charts else "",
            schematic=pictures.schematic(gauge, own_unit(self.document.gauge)),
            charts=charts,
            key=pictures.key(),
            fabric=pictures.fabric(self.wools),
            finishing=finishing,
        )

    def abbreviations(
        self, pieces: Sequence[PieceSheet], patterns: Sequence[SheetPart], gauge: Sequence[str]
    ) -> tuple[Abbreviation, ...]:
        """Return the abbreviations that stand on the sheet, those of the designer's own first."""
        texts = [*gauge]
        for part in (*patterns, *(part for piece in pieces for part in piece.parts)):
            for row in part.rows:
                texts += [row.label, row.text, row.count, row.note]
        for row in (row for piece in pieces for row in piece.finishing):
            texts += [row.text, row.note]
        texts += [piece.cast_on for piece in pieces]
        whole = " \n".join(texts)
        own = [
            Abbreviation(stitch.name, stitch.words)
            for stitch in stitches_used(self.document)
            if stitch.words
            and re.search(rf"(?<!\w){re.escape(stitch.name)}(?!\w)", whole, re.IGNORECASE)
        ]
        names = {one.sign.casefold() for one in own}
        usual = self.data.wording.abbreviations_in(whole)
        return (*own, *(one for one in usual if one.sign.casefold() not in names))


def _number(sizes: Sequence[str], size: str) -> int:
    for number, name in enumerate(sizes):
        if name.casefold() == size.casefold():
            return number
    raise KeyError(f"The pattern has no size '{size}'.")


def _listed(names: Sequence[str]) -> str:
    if len(names) < 2:  # noqa: PLR2004
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _cells(values: Sequence[MeasuredSizes | None]) -> tuple[str, ...]:
    """Return a text for every size; a single one where they are alike, or too many for columns."""
    if len(values) > _MOST_COLUMNS:
        return (graded_measure(values),)
    cells = tuple("-" if one is None else str(one) for one in values)
    return cells[:1] if len(set(cells)) == 1 else cells


def _title(name: str) -> str:
    return name[:1].upper() + name[1:]
