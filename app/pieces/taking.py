"""
A printed pattern taken in: from plain text to a pattern file, line by line.

What stands above the first stitches (title, sizes, gauge, yarn) is found where it is and the rest
kept as notes; headings become sections, and a cast-on after a heading begins a new piece. No word
is changed: every line of the text is either a heading, a note, or a row of the file, and `lines`
say which line of the file each became.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from dataclasses import dataclass, field, replace
from itertools import pairwise

_MOST_WORDS_OF_HEADING = 7
_LONG_LINE = 40
_WORKING = (
    r"(?:k|p|knit|purl|work|cast|bind|rep|repeat|cont|continue|change|join|break|cut|sl|slip|place"
    r"|pm|dec|inc|bo|co|pick|weave|sew|block|graft|fasten|commence|beg|beginning"
    r"|begin|using|with|rejoin|return|leave|put|row|rnd|round|rows|rnds|rounds|next|ssk|yo|m1|note"
    r"|tip|press|wash|rinse|thread|turn work|do not|all|both)(?![a-z])"
)
_ROW_BEGINS = re.compile(
    r"(?:rows?|rnds?|rounds?|r\d|next|set-?up|\d+(?:st|nd|rd|th))\b", re.IGNORECASE
)
_CAST_ON = re.compile(
    r"\b(?:co|cast(?:ing)? on)\b[^.;]{0,40}?\d|\bprovisional(?:ly)?\b[^.;]*\d"
    r"|\b(?:pick up|pu)\b[^.;]{0,20}\d|\bmake a slip ?knot\b",
    re.IGNORECASE,
)
_NEW_PIECE = re.compile(
    r"^(?:(?:with|using|on|in)\b[^.;]*?,? ?)?(?:loosely )?(?:co|cast on)\b"
    r"(?![^.;]*\b(?:beg|end|gap|over|next|row|held|thumb hole)\b)[^.;]{0,40}?\d",
    re.IGNORECASE,
)
_JOINING = re.compile(
    r"^(?:joining|join(?:ing)? (?:the )?(?:body|sleeves|pieces)[a-z ]*)"
    r"(?: (?:row|rnd|round))?\s*[:,(]",
    re.IGNORECASE,
)
"""A round that joins pieces begins one of its own: the stitches of all of them."""
_STITCH_WORD = re.compile(
    r"\b(?:k(?:nit)?|p(?:url)?|sts?|stitch(?:es)?|rows?|rnds?|rounds?|cast|bind|bo|co|pick up"
    r"|[kp]\d+\w*|ssk|yo|m1|dec\w*|inc\w*|work|cont\w*|measures?"
    r"|complete|finish as|rep(?:eat)?|fasten|draw|join|dpns)\b",
    re.IGNORECASE,
)
_FINISHING = re.compile(
    r"^(?:finish(?:ing)?|(?:to )?make up|making up|to finish|assembly|blocking|after ?care|care"
    r"|notes?|hints?|tips?|abbreviations?|materials?|you need|cautions?|warning)\b",
    re.IGNORECASE,
)
_NOTE = re.compile(r"^(?:notes?|tips?|hint|caution|warning|nb|n\.b\.)\s*[:.-]", re.IGNORECASE)
_SIZES = re.compile(
    r"^(?:(?:two|three|four|five|six) |finished |to fit )?sizes?\b\s*(?:are|is)?\s*[:.-]?\s*"
    r"(?P<names>.*)$",
    re.IGNORECASE,
)
_ONLY_SIZES = re.compile(
    r"(?:one |the )?[A-Za-z0-9/'-]+(?: [a-z]+)?\s*[(\[][A-Za-z0-9/' ,:;-]+[)\]]\.?"
)
"""A line of its own: "S (M, L)", "Child (woman, man)"."""
_TO_FIT = re.compile(
    r"\bto fit (?:(?:an? |the )?(?P<of>age|ages|chest|bust|head|hand|foot|palm)s?\b)?[^\d]{0,20}"
    r"(?P<names>\d[\d.]*\s*[(\[][^)\]]*[)\]])\s*(?P<unit>[a-z]+)?",
    re.IGNORECASE,
)
_GAUGE = re.compile(
    r"\d+(?:\.\d+)?\s*(?:sts?|stitches)\b.{0,60}?\b(?:10\s*cm|4\s*(?:in\b|inch|\"))", re.IGNORECASE
)
_FACT = re.compile(
    r"^(?P<key>yarn|needles?|gauge|tension|materials|you (?:will )?need)\s*[:-]\s*(?P<text>.+)$",
    re.IGNORECASE,
)
_AMOUNT = re.compile(r"\b\d+(?:\.\d+)?\s*(?:\((?P<round>[^()]*)\)|\[(?P<square>[^\[\]]*)\])")
_IN_BRACKETS = re.compile(r"\s*[-\d.]+(?:\s*[,:;/]\s*[-\d.]+)*\s*")
_UNFINISHED = re.compile(
    r"(?:\*|\b(?:from|to|and|of|the|on|at|a|with|every|then|until|last|next|rep|for|in|by|or))$"
)
_BULLET = re.compile(r"^\s*[\u2022\u25aa\u25cf\u2013\u2014-]\s+")


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line of the text as it is worked or kept; `number` is that of its last printed line."""

    number: int
    text: str


@dataclass(frozen=True, slots=True)
class TakenSection:
    """A part of a piece under its heading, with its rows."""

    title: str
    rows: tuple[TextLine, ...] = ()
    heading: int | None = None


@dataclass(frozen=True, slots=True)
class TakenPiece:
    """A piece with its own cast-on."""

    title: str
    sections: tuple[TakenSection, ...]


@dataclass(frozen=True, slots=True)
class Taken:
    """What was found in a text, and what has still to be asked."""

    title: str
    sizes: tuple[str, ...] = ()
    gauge: str = ""
    yarn: str = ""
    needle: str = ""
    notes: tuple[TextLine, ...] = ()
    pieces: tuple[TakenPiece, ...] = ()
    sizes_guessed: bool = False
    """Whether the sizes have names of their own, or only numbers because none were found."""

    @property
    def asks(self) -> tuple[str, ...]:
        """What was not found: of "title", "sizes", "gauge"."""
        missing = {
            "title": not self.title, "sizes": self.sizes_guessed, "gauge": not self.gauge,
        }  # fmt: skip
        return tuple(key for key, is_missing in missing.items() if is_missing)


@dataclass(frozen=True, slots=True)
class TakenFile:
    """The pattern file, and for each of its lines the line of the text that stands there."""

    text: str
    lines: dict[int, TextLine] = field(default_factory=dict)


def take(text: str) -> Taken:
    """Return what a printed pattern says, in the order in which it says it."""
    lines = _joined(text)
    begins = _where_it_begins(lines)
    front, worked = lines[:begins], lines[begins:]
    title = front[0].text if front else ""
    if not front and worked and _is_heading(worked[0].text):
        title, worked = worked[0].text, worked[1:]
    taken = Taken(_as_title(title.strip(" .")))
    taken = _with_front(taken, front[1:])
    sizes = _how_many_sizes(worked)
    if len(taken.sizes) != sizes:
        names = tuple(str(number + 1) for number in range(sizes)) if sizes > 1 else ()
        taken = replace(taken, sizes=names, sizes_guessed=sizes > 1)
    pieces, notes = _pieces(worked, taken.title)
    return replace(taken, pieces=pieces, notes=(*taken.notes, *notes))


def file_of(taken: Taken) -> TakenFile:
    """Return the pattern file of what was taken in."""
    out: list[str] = [f"title = {_quoted(taken.title or 'A pattern')}"]
    kept: dict[int, TextLine] = {}
    if taken.sizes:
        out.append(f"sizes = [{', '.join(map(_quoted, taken.sizes))}]")
    facts = {"gauge": taken.gauge, "yarn": taken.yarn, "needle": taken.needle}
    out.extend(f"{key} = {_quoted(said)}" for key, said in facts.items() if said)
    if taken.notes:
        out.append(f"notes = {_quoted(' '.join(note.text for note in taken.notes))}")
    several = len(taken.pieces) > 1
    for piece in taken.pieces:
        if several:
            out.extend(("", "[[piece]]", f"title = {_quoted(piece.title)}"))
        for section in piece.sections:
            if section.title or len(piece.sections) > 1:
                head = "[[piece.section]]" if several else "[[section]]"
                out.extend(("", head, f"title = {_quoted(section.title or piece.title)}"))
            out.append("rows = [")
            kept.update({len(out) + n: row for n, row in enumerate(section.rows, 1)})
            out.extend(f"  {_quoted(row.text)}," for row in section.rows)
            out.append("]")
    return TakenFile("\n".join([*out, ""]), kept)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _joined(text: str) -> list[TextLine]:
    """Return the lines without blank ones, those that a printer has broken in one."""
    lines: list[TextLine] = []
    open_line = False
    for number, printed in enumerate(text.splitlines(), start=1):
        line = " ".join(_BULLET.sub("", printed).split())
        if not line:
            open_line = False
            continue
        if open_line and _goes_on(lines[-1].text, line):
            lines[-1] = TextLine(number, f"{lines[-1].text} {line}")
        else:
            lines.append(TextLine(number, line))
        open_line = True
    return lines


def _goes_on(before: str, line: str) -> bool:
    if _ROW_BEGINS.match(line):
        return before.endswith((",", ";")) and line[0].islower()
    if before.endswith((",", ";")):
        return True
    if before.endswith((".", ":", "!", "?")):
        return False
    if len(before) <= _LONG_LINE and _UNFINISHED.search(before) is None:
        return False
    return line[0].islower() or line[0] in "(*[" or line[0].isdigit()


def _is_heading(text: str) -> bool:
    bare = re.sub(r"[(\[][^()\[\]]*[)\]]", "", text).strip()
    words = bare.split()
    return (
        0 < len(words) <= _MOST_WORDS_OF_HEADING
        and not bare.endswith((".", ",", ";", "!"))
        and not any(letter.isdigit() for letter in bare)
        and (words[0][0].isupper() or words[0][0] == "*")
        and (
            re.match(_WORKING, bare.casefold()) is None
            or (bare.isupper() and len(words) > 1 and not bare.endswith(":"))
        )
        and (not bare.endswith(":") or len(words) <= 3)  # noqa: PLR2004 (like "Back neck:")
    )


def _where_it_begins(lines: list[TextLine]) -> int:
    """Return the number of the line with which the work begins: a heading, or the cast-on."""
    first = next(
        (
            n for n, line in enumerate(lines)
            if _CAST_ON.search(line.text) and not _NOTE.match(line.text) and n
        ),
        None,
    )  # fmt: skip
    if first is None:
        first = next((n for n, line in enumerate(lines) if _ROW_BEGINS.match(line.text)), 1)
    start = first
    while start > 1 and _is_heading(lines[start - 1].text) and not _of_front(lines[start - 1].text):
        start -= 1
    return min(start, len(lines))


def _of_front(text: str) -> bool:
    """Whether a line says a fact that stands above the work, however short: "Sizes: S (M)"."""
    return any(one.search(text) is not None for one in (_SIZES, _FACT, _ONLY_SIZES, _TO_FIT))


def _with_front(taken: Taken, front: list[TextLine]) -> Taken:
    """Return what the lines above the work say; what is not understood there is a note."""
    notes: list[TextLine] = []
    named: tuple[str, ...] = ()
    for before, line in pairwise([TextLine(0, ""), *front]):
        said = _SIZES.match(line.text)
        text = said["names"] if said else ""
        if _SIZES.fullmatch(before.text) and before.text.strip(" :").casefold() in {
            "sizes",
            "size",
        }:
            text = line.text
        names = _size_names(text)
        if _ONLY_SIZES.fullmatch(line.text):
            names = _size_names(line.text)
        fit = _TO_FIT.search(line.text)
        if len(names) <= 1 and fit is not None:
            unit = f" {fit['unit']}" if fit["unit"] else ""
            names = tuple(f"{name}{unit}" for name in _size_names(fit["names"]))
        if len(names) > 1 and not named:
            named = names
            continue
        fact = _FACT.match(line.text)
        key = fact["key"].casefold() if fact else ""
        if _GAUGE.search(line.text) and not taken.gauge:
            taken = replace(taken, gauge=fact["text"] if fact else line.text)
        elif fact and key == "yarn" and not taken.yarn:
            taken = replace(taken, yarn=fact["text"])
        elif fact and key.startswith("needle") and not taken.needle:
            taken = replace(taken, needle=fact["text"])
        elif not _SIZES.fullmatch(line.text) or text:
            notes.append(line)
    return replace(taken, sizes=named, notes=tuple(notes))


def _size_names(text: str) -> tuple[str, ...]:
    """Return the names in "S (M, L)", "Small (Medium, Large)", "S/M (L)", "S, M, L"."""
    text = re.split(r"\.(?:\s|$)|\bto fit\b|\s-\s|:", text)[0].strip(" ,;.")
    if "(" in text or "[" in text:
        parts = re.split(r"[(\[,:;)\]]", text)
    elif "," in text:
        parts = re.split(r",|\band\b", text)
    else:
        return ()
    names = tuple(" ".join(part.split()) for part in parts if part.strip())
    return names if all(len(name.split()) <= 3 for name in names) else ()  # noqa: PLR2004


def _how_many_sizes(lines: list[TextLine]) -> int:
    """Return for how many sizes most of the graded numbers of a text are."""
    found: Counter[int] = Counter()
    for line in lines:
        for one in _AMOUNT.finditer(line.text):
            inner = one["round"] if one["round"] is not None else one["square"]
            if _IN_BRACKETS.fullmatch(inner):
                found[1 + len(re.split(r"[,:;/]", inner))] += 1
    return found.most_common(1)[0][0] if found else 1


def _pieces(
    lines: list[TextLine], title: str
) -> tuple[tuple[TakenPiece, ...], tuple[TextLine, ...]]:
    """Return the pieces with their sections, and the lines that are no work."""
    pieces: list[tuple[str, list[TakenSection]]] = [(title, [])]
    notes: list[TextLine] = []
    section = TakenSection("")
    finishing = False
    for line in lines:
        heading = _is_heading(line.text)
        if heading and _FINISHING.match(line.text):
            finishing = True
            notes.append(line)
            continue
        if heading:
            finishing = False
            _close(pieces, section)
            section = TakenSection(_as_title(line.text.strip(" :*")), (), line.number)
            continue
        if (
            _NOTE.match(line.text)
            or (_STITCH_WORD.search(line.text) is None and not _only_marks(line.text))
            or (
                finishing
                and _CAST_ON.search(line.text) is None
                and _ROW_BEGINS.match(line.text) is None
            )
        ):
            notes.append(line)
            continue
        finishing = False
        begins = _NEW_PIECE.match(line.text) or (len(pieces) > 1 and _JOINING.match(line.text))
        if not section.rows and begins and any(s.rows for s in pieces[-1][1]):
            pieces.append((section.title or f"{title} {len(pieces) + 1}", []))
        section = replace(section, rows=(*section.rows, line))
    _close(pieces, section)
    made = tuple(
        TakenPiece(_own_title(name, number, pieces), tuple(sections))
        for number, (name, sections) in enumerate(pieces)
        if sections
    )
    return made, tuple(notes)


def _own_title(name: str, number: int, pieces: list[tuple[str, list[TakenSection]]]) -> str:
    before = [other for other, _ in pieces[:number]]
    first = pieces[number][1][0].title if number == 0 and len(pieces) > 1 else ""
    if number == 0:
        return first or name
    return f"{name} {before.count(name) + 1}" if name in before else name


def _close(pieces: list[tuple[str, list[TakenSection]]], section: TakenSection) -> None:
    if section.rows:
        pieces[-1][1].append(section)


def _only_marks(text: str) -> bool:
    return not any(letter.isalnum() for letter in text)


def _as_title(text: str) -> str:
    return text.capitalize() if text.isupper() else text
