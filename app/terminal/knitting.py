"""
Knitting in the terminal: what was heard, what was answered, and the piece growing row by row.

The terminal is a front end like the window: it only prints what the assistant tells it.
"""

from __future__ import annotations

import contextlib
import json
import sys
from dataclasses import fields, replace
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, TextIO

from app.drawings.characters import stitch_rows
from app.session.demonstration import shown_in
from app.session.situation import Ear
from engine.quantities import Length, Mass
from engine.replies import Say
from engine.talk import value_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.session.situation import Situation
    from app.session.trace import Happening
    from engine.commands import Command
    from engine.replies import Reply
    from engine.talk import Screen, Talk

_WIDTH = 46
"""Columns of the words heard, before what became of them."""


class Terminal:
    """Prints happenings, as text for a person or as one JSON object a line for a program."""

    def __init__(
        self,
        words_of: Callable[[Reply], str],
        fabric_row: Callable[[Situation, int], str],
        *,
        as_json: bool = False,
        out: TextIO | None = None,
        screen_lines: Callable[[Screen, Situation], Sequence[str]] | None = None,
    ) -> None:
        """
        Prepare to print.

        Args:
            words_of: the words of a reply.
            fabric_row: a row of the piece drawn in characters.
            as_json: print JSON instead of text.
            out: where to; standard output if not given.
            screen_lines: what a screen that is asked for shows, a line each.

        """
        self._words_of = words_of
        self._fabric_row = fabric_row
        self._json = as_json
        self._screen_lines = screen_lines
        self._out = out or sys.stdout
        self._drawn = 0
        self._rounds = False
        self._piece = ""
        self._latest: Situation | None = None
        self.heard = 0
        self.refused = 0
        self.unwritten = ""
        """Why something that was said could not be kept; it was told when it was said."""
        self.broken: OSError | None = None
        """Why nothing can be printed any more: the reader has gone, or a disk is full."""

    def _told(self, reply: Reply) -> str:
        """Return the words of a reply; a piece that is worked in rounds has no rows."""
        return self._words_of(replace(reply, rounds=self._rounds))

    def say(self, line: str) -> None:
        """Print a line for a person; nothing in JSON."""
        if not self._json:
            self._print(line)

    def begin(self, situation: Situation) -> None:
        """Say where the work stands."""
        self._drawn, self._piece = situation.state.done, situation.state.piece
        self._rounds = situation.in_rounds
        self.say("")
        for reply in situation.replies:
            self.say(f"  {self._told(reply)}")

    def seen(self, situation: Situation) -> None:
        """Say on standard error what the listening lacks, once, and when it is well again."""
        before, self._latest = self._latest, situation
        if before is None or (before.heard, before.replies) != (situation.heard, situation.replies):
            return  # something was said: that is printed by `happened`
        if before.ear is Ear.LOST and situation.ear is Ear.LISTENING:
            self._complain("Listening again.")
        elif situation.trouble not in {"", before.trouble} and situation.ear is not Ear.DEAF:
            self._complain(situation.trouble)

    def happened(self, happening: Happening) -> None:
        """Print one thing that came in: the words, the reply, and the rows that grew."""
        self._rounds = happening.situation.in_rounds
        if happening.line is not None:
            self.heard += happening.outcome is not None
            self.refused += happening.outcome is None
        if happening.outcome is not None and happening.outcome.trouble:
            self.unwritten = happening.outcome.trouble
        if self._json:
            self._print(json.dumps(_as_json(happening, self._told), ensure_ascii=False))
            return
        self._print(self._line(happening))
        for one in _before_list(happening.outcome.replies)[1] if happening.outcome else ():
            self._print(f"{'':>10} {self._told(one)}")
        self._draw_stitch(happening)
        self._show_screen(happening)
        self._grow(happening.situation)

    def _draw_stitch(self, happening: Happening) -> None:
        """Draw the stitch whose making is told, with its first sentence."""
        move = shown_in(happening.outcome.replies) if happening.outcome is not None else None
        if move is not None and move.at == 0 and move.instruction.items:
            for row in stitch_rows(move.instruction.items[0]):
                self._print(f"{'':>10} {row}")

    def _show_screen(self, happening: Happening) -> None:
        """Print the screen that was asked for."""
        screen = happening.outcome.screen if happening.outcome is not None else None
        if screen is not None and self._screen_lines is not None:
            for line in self._screen_lines(screen, happening.situation):
                self._print(f"{'':>10} {line}")

    def _line(self, happening: Happening) -> str:
        when = _clock(happening.span.start_s) if happening.span else " " * 6
        words = happening.line.words if happening.line else happening.source.value
        shown = f"“{words}”" if happening.line else f"[{words}]"
        if happening.outcome is None:
            why = happening.line.why if happening.line else ""
            return f"{when}  · {shown:{_WIDTH}} {why}"
        replies, _ = _before_list(happening.outcome.replies)
        said = " ".join(filter(None, map(self._told, replies)))
        if happening.outcome.trouble:
            said = f"{said} {happening.outcome.trouble}".strip()
        mark = "✓" if happening.outcome.command is not None else "?"
        return f"{when}  {mark} {shown:{_WIDTH}} {said}".rstrip()

    def _grow(self, situation: Situation) -> None:
        done = situation.state.done
        if situation.state.piece != self._piece:
            self._drawn, self._piece = done, situation.state.piece
        for row in range(self._drawn + 1, done + 1):
            self._print(f"{row:>10} {self._fabric_row(situation, row)}")
        if done < self._drawn:
            fewer = _many(self._drawn - done, "round" if self._rounds else "row")
            self._print(f"{'':>10} … {fewer} fewer: {done} done")
        self._drawn = done

    def summary(self, situation: Situation) -> None:
        """Print where the piece stands at the end, and what was heard and refused."""
        state, course = situation.state, situation.course
        place = course.where(state.loops_ended, state.working)
        if self._json:
            return
        row = "round" if situation.in_rounds else "row"
        lengths = [one for one in state.lengths if not one.aside]
        counts = [one for one in state.counts if not one.aside]
        self._print("")
        self._print(f"  {state.name}: {_many(state.done, row)} done" + ("" if place.finished else
                    f", working {state.working}{_after_comma(place.section_title)}"))  # fmt: skip
        if lengths:
            self._print(f"  last measured {lengths[-1].length} after {row} {lengths[-1].row}")
        if counts:
            last = counts[-1]
            right = "right" if last.count == last.expected else f"expected {last.expected}"
            self._print(f"  last counted {last.count} stitches after {row} {last.row}: {right}")
        for note in state.notes:
            self._print(f"  {row} {note.row}: {note.about} {note.text}".rstrip())
        refused = f"{_many(self.refused, 'utterance')} not for us"
        self._print(f"  {_many(self.heard, 'command')} understood, {refused}")

    def _print(self, line: str) -> None:
        if self.broken is not None:
            return
        try:
            print(line, file=self._out, flush=True)
        except OSError as error:
            self.broken = error

    @staticmethod
    def _complain(sentence: str) -> None:
        with contextlib.suppress(OSError):
            print(f"walesong: {sentence}", file=sys.stderr, flush=True)


def _before_list(replies: Sequence[Reply]) -> tuple[Sequence[Reply], Sequence[Reply]]:
    """Part an answer where a list in it begins, of which each has a line of its own."""
    at = next((at for at, one in enumerate(replies) if one.say is Say.CAN_SAY), len(replies))
    return replies[:at], replies[at:]


def _after_comma(title: str) -> str:
    return f", {title}" if title else ""


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _clock(seconds: float) -> str:
    minutes, rest = divmod(seconds, 60)
    return f"{int(minutes)}:{rest:04.1f}".rjust(6)


def plain(value: object) -> object:
    """Return a command's value as JSON: numbers as numbers, quantities with their unit."""
    if isinstance(value, Length | Mass):
        return {"value": plain(value.value), "unit": value.unit.value}
    if isinstance(value, Fraction):
        return int(value) if value.denominator == 1 else float(value)
    if isinstance(value, StrEnum):
        return value.value
    return value


def details(said: Command | Talk) -> dict[str, object]:
    """Return all fields of a command that are set, as JSON values."""
    values = {field.name: getattr(said, field.name) for field in fields(said)}
    return {name: plain(value) for name, value in values.items() if value is not None}


def _as_json(happening: Happening, words_of: Callable[[Reply], str]) -> dict[str, object]:
    outcome = happening.outcome
    command = outcome.command if outcome else None
    state = happening.situation.state
    return {
        "source": happening.source.value,
        "start_s": round(happening.span.start_s, 3) if happening.span else None,
        "words": happening.line.words if happening.line else None,
        "accepted": command is not None,
        "command": command.name if command else None,
        "value": plain(value_of(command)) if command else None,
        "details": details(command) if command else {},
        "why": (happening.line.why or None) if happening.line else None,
        "replies": [
            text for one in (outcome.replies if outcome else ()) if (text := words_of(one))
        ],
        "written": [record.event.kind for record in (outcome.written if outcome else ())],
        "trouble": (outcome.trouble or None) if outcome else None,
        "piece": state.name,
        "done": state.done,
        "working": state.working,
        "question": words_of(happening.situation.question)
        if happening.situation.question
        else None,
    }
