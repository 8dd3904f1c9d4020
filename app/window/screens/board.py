"""The working board: what is worked now, drawn and in words, and the everyday commands by touch."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.floatlayout import FloatLayout

from app.display.arrange import LOW_SCREEN, Box, Room, around, arrange, below, with_hands
from app.display.board_spans import answer_spans, bit_spans, stop_spans, trouble_spans
from app.display.flow import TextSpan, fit
from app.session.controls import phrase_of, speakable
from app.session.keys import Doing
from app.window.screens.control import Control
from app.window.screens.kv import load
from app.window.screens.text import width_of
from app.window.screens.ways import PLACES, way_to
from app.window.views import fabric_view, hands_view, lamp_view, tape_view  # noqa: F401 (in kv)

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.display.arrange import Arrangement
    from app.display.board_values import BoardView
    from app.display.theme import Colour, Sizes
    from app.session.controls import Control as Spec
    from app.window.screens.kit import Kit
    from app.window.screens.picture_control import PictureControl

load("board")

_ROOMY: Final = 180.0  # mm of height and width from which everything may be a little larger
_AT_ARMS_LENGTH: Final = 10.0
"""mm of capitals of the instruction on a large screen."""
_MOST_GROWN: Final = 1.5
"""So much the largest texts of all grow with the reader's text size, where there is room."""
_BAND: Final = 10.0
"""mm of height of the band that tells across the room what the listening lacks."""
_TITLE_LINE: Final = 4.5
"""mm of height of a line of the title at the usual size."""
_NARROW: Final = 50.0  # mm of width, by the reader's text size, that title and ear need together
_CROWDED: Final = 90.0  # mm of width in which the title has to give way to the ear's words
_LONG_ANSWER: Final = 40  # letters from which an answer may need more room than usual


class Board(FloatLayout):
    """The working board; shows a `BoardView` and calls `act` with the control that was touched."""

    view: BoardView | None = ObjectProperty(None, allownone=True)
    look = ObjectProperty(None)
    sizes: Sizes = ObjectProperty(None)
    wool: Colour | None = ObjectProperty(None, allownone=True)
    magnify = NumericProperty(1.0)
    instruct = NumericProperty(1.0)
    """How much larger than it must be the instruction may be where there is room."""
    notes_valign = StringProperty("middle")
    band_role = StringProperty("alert")
    band_words = StringProperty("")
    ear_words = StringProperty("")

    def __init__(
        self,
        kit: Kit,
        act: Callable[[Spec | None], None],
        hold: Callable[[bool], None] = lambda _: None,
        **properties: Any,
    ) -> None:
        """
        Build the board.

        `act` gets None when "Everything" is touched, `hold` True and False while "Hold to talk" is
        down.
        """
        self.kit, self._act, self._hold = kit, act, hold
        look = kit.look
        self.arrangement: Arrangement | None = None
        self.buttons: list[Control] = []
        self.ways: list[PictureControl] = []
        """What leads to other places, along the upper edge."""
        self._shown: BoardView | None = None
        super().__init__(look=look, sizes=look.theme.sizes, **properties)
        look.follow(self)
        self.bind(size=self._arrange, view=self._show)
        self._arrange()

    def look_changed(self) -> None:
        """Arrange everything in the new look."""
        self._arrange()

    # --- where everything lies ----------------------------------------------------------------

    def _arrange(self, *_: object) -> None:
        look = self.look
        if min(self.size) <= 1:
            return
        wide, tall = self.width / look.px_per_mm, self.height / look.px_per_mm
        digits = max(len(self.view.number) if self.view else 2, 2)
        large = min(wide, tall) >= LOW_SCREEN
        grown = min(look.text_scale, _MOST_GROWN) if large else 1.0
        self.magnify = max(1.25 if min(wide, tall) >= _ROOMY else 1.0, grown)
        band = _BAND if self.view is not None and self.view.band is not None else 0.0
        self._put_band(wide, tall, band)
        tall -= band
        self.instruct = grown * _AT_ARMS_LENGTH / self.sizes.instruction if large else 1.0
        room = Room(
            wide,
            tall,
            look.theme.sizes,
            look.theme.fonts.capital,
            look.text_scale,
            digits,
            len(self._wanted()) + 1,
            self.magnify,
            self._instruction_height,
            self._roomy_height,
            self._heard_height,
        )
        arrangement = self.arrangement = arrange(room)
        parts = arrangement.parts
        stands = "notes" in parts and parts["notes"].height > 3 * room.line(room.sizes.words)
        self.notes_valign = "top" if stands else "middle"
        for name in ("title", "place", "fabric", "instruction", "notes", "tape", "heard"):
            self._put(self.ids[name], parts.get(name))
        self._put_title(parts.get("title"))
        self._put_place(parts["place"], room, beside=arrangement.beside)
        stopped = self.view is not None and self.view.stop is not None
        hidden = ("place", "fabric", "instruction", "notes")
        free = below(around([parts.get(name) for name in hidden]), arrangement.ways)
        self._put(self.ids.stop, free if stopped else None)
        if stopped:
            for name in (*hidden, "numeral"):
                self._put(self.ids[name], None)
        shows = self.view is not None and self.view.hands is not None and not stopped
        self._put_tape(None if shows else parts.get("tape"), room)
        self._put_hands(parts if shows else {}, arrangement.ways)
        self._put_buttons(arrangement.controls)
        self._put_ways(arrangement.ways)
        self._shown = None
        self._show()

    def _instruction_height(self, width: float) -> tuple[float, float]:
        """Return what the whole instruction and the bit worked now need in a width, all in mm."""
        view, mm = self.view, self.look.px_per_mm
        if view is None or not view.bits:
            return 0.0, 0.0
        size = round(self.look.letters(self.sizes.instruction, scaled=False))
        at = max(view.bit, 0)
        heights = [
            fit(spans, (width * mm, 1e9), (size, size), width_of).height / mm
            for spans in (
                bit_spans(view, 0, len(view.bits)),
                bit_spans(view, at, at + 1, dots=False),
            )
        ]
        return heights[0], heights[1]

    def _roomy_height(self, width: float) -> float:
        """Return what the whole instruction needs in a width as large as it may be, in mm."""
        view, mm = self.view, self.look.px_per_mm
        if view is None or not view.bits:
            return 0.0
        grown = max(self.instruct, min(self.look.text_scale, 1.6))
        size = round(self.look.letters(self.sizes.instruction * grown, scaled=False))
        spans = bit_spans(view, 0, len(view.bits))
        return float(fit(spans, (width * mm, 1e9), (size, size), width_of).height / mm)

    def _heard_height(self, width: float) -> float:
        """Return what the answer and any trouble need in a width, in small letters, in mm."""
        if self.view is None:
            return 0.0
        spans = answer_spans(self.view) + trouble_spans(self.view)
        if self.view.question:
            spans = [TextSpan(self.view.question, bold=True)]
        mm = self.look.px_per_mm
        size = round(self.look.letters(self.sizes.small, scaled=False))
        return fit(spans, (width * mm, 1e9), (size, size), width_of).height / mm if spans else 0.0

    def _put(self, widget: Any, box: Box | None) -> None:
        widget.opacity = 0 if box is None else 1
        if box is None:
            widget.size_hint = (None, None)
            widget.pos, widget.size = (0, 0), (0, 0)
            return
        mm = self.look.px_per_mm
        widget.size_hint = (None, None)
        widget.size = (box.width * mm, box.height * mm)
        widget.pos = (self.x + box.x * mm, self.y + box.y * mm)

    def _put_band(self, wide: float, tall: float, high: float) -> None:
        """Lay the band across the top, or take it away."""
        self._put(self.ids.band, Box(0, tall - high, wide, high) if high else None)
        if self.view is not None and self.view.band is not None:
            self.band_role, words = self.view.band
            size = round(self.look.letters(self.sizes.far_words, scaled=False))
            fits = width_of(words, size, True) <= self.width
            self.band_words = words if fits else self.view.ear_short

    def _put_title(self, box: Box | None) -> None:
        """Share the first line between the name of the piece and what the listening does."""
        lamp, ear, title = self.ids.lamp, self.ids.ear, self.ids.title
        if box is None:
            self._put(lamp, None)
            self._put(ear, None)
            return
        line = box.height
        if self.arrangement is not None and self.arrangement.ways and box.height > 2 * _TITLE_LINE:
            line = box.height / 2  # beside the ways: the name above, what the listening does below
            self._put(title, Box(box.x, box.y + line, box.width, line))
            side = line * 0.62
            self._put(lamp, Box(box.x, box.y + (line - side) / 2, side * 3.1, side))
            self._put(ear, Box(box.x + side * 3.1 + 2, box.y, box.width - side * 3.1 - 2, line))
            ear.align = "left"
            return
        side = line * 0.62
        lamp_wide = side * 3.1
        crowded = box.width / self.look.text_scale < _CROWDED  # the listening matters more
        words = min(box.width * (0.45 if crowded else 0.34), 62.0 * self.look.text_scale)
        if box.width / self.look.text_scale < _NARROW:  # no room for both: the listening matters
            words = box.width - lamp_wide - 3
            self._put(title, None)
            self._put(ear, Box(box.x, box.y, words, box.height))
            self._put(
                lamp, Box(box.x + words + 3, box.y + (box.height - side) / 2, lamp_wide, side)
            )
            ear.align = "left"
            return
        ear.align = "right"
        self._put(title, Box(box.x, box.y, box.width - words - lamp_wide - 4, box.height))
        right = box.x + box.width
        self._put(lamp, Box(right - lamp_wide, box.y + (box.height - side) / 2, lamp_wide, side))
        self._put(ear, Box(right - lamp_wide - words - 2, box.y, words, box.height))

    def _put_place(self, box: Box, room: Room, *, beside: bool) -> None:
        numeral, words = self.ids.numeral, self.ids.place
        if beside:
            wide = min(room.numeral_width, box.width * 0.7)
            self._put(numeral, Box(box.x, box.y, wide, box.height))
            left = wide + room.sizes.gap
            self._put(words, Box(box.x + left, box.y, box.width - left, box.height))
            return
        below = box.height - room.numeral - 2.0
        wide = min(room.numeral_width, box.width)
        self._put(numeral, Box(box.x, box.y + below, wide, box.height - below))
        self._put(words, Box(box.x, box.y, box.width, below))

    def _put_hands(self, parts: dict[str, Box], ways: tuple[Box, ...]) -> None:
        """Give the hands at work all the room but for the buttons and the answer."""
        self._put(self.ids.hands, None)
        if not parts:
            return
        over = ("place", "fabric", "instruction", "notes", "tape")
        room = below(around(parts.get(name) for name in over), ways)
        for name in ("numeral", "place", "fabric", "tape"):
            self._put(self.ids[name], None)
        boxes = with_hands(room, self.sizes.gap)
        for name, box in zip(("hands", "instruction", "notes"), boxes, strict=True):
            self._put(self.ids[name], box)
        self.notes_valign = "middle"

    def _put_tape(self, box: Box | None, room: Room) -> None:
        if box is None:
            self._put(self.ids.tape_words, None)
            return
        words = room.tape_line
        self._put(self.ids.tape, Box(box.x, box.y, box.width, box.height - words - 0.5))
        self._put(self.ids.tape_words, Box(box.x, box.y + box.height - words, box.width, words))

    # --- controls -----------------------------------------------------------------------------

    def _wanted(self) -> tuple[Spec | Doing, ...]:
        first = (Doing.TALK,) if self.view is not None and self.view.holds else ()
        return (*first, *self._wanted_controls())

    def _wanted_controls(self) -> tuple[Spec, ...]:
        if self.view is not None and self.view.question:
            answer = self.view.question_control
            asked = self.kit.controls.question
            return asked if answer is None else (answer, *asked[1:])
        made_up = self.view is not None and self.view.made_up
        return self.kit.controls.made_up if made_up else self.kit.controls.everyday

    def _put_buttons(self, boxes: tuple[Box, ...]) -> None:
        wanted = self._wanted()[: max(len(boxes) - 1, 0)]
        asking = bool(self.view and self.view.question)
        while len(self.buttons) < len(boxes):
            button = Control(look=self.look)
            button.bind(on_release=self._touched, state=self._pressed)
            self.buttons.append(button)
            self.add_widget(button)
        while len(self.buttons) > len(boxes):
            self.remove_widget(self.buttons.pop())
        for at, (button, box) in enumerate(zip(self.buttons, boxes, strict=True)):
            spec = wanted[at] if at < len(wanted) else None
            button.spec = spec
            if spec is None:
                button.title, button.phrase, button.rank = (
                    self.kit.words("screens", "everything"),
                    "",
                    "plain",
                )
            elif isinstance(spec, Doing):
                button.title, button.phrase = self.kit.words("doings", spec.value), ""
                button.rank = "strong"
            else:
                button.title = spec.name
                button.phrase = phrase_of(spec, self.kit.book, answering=asking)
                button.spoken = speakable(spec, self.kit.book)
                button.rank = "ask" if asking else "strong" if at == 0 else "plain"
            button.capital, button.least = self.sizes.words, self.sizes.small * 0.9
            self._put(button, box)

    def _put_ways(self, boxes: tuple[Box, ...]) -> None:
        """Lay the ways along the upper edge: all of them, or only the one to the pieces."""
        if len(boxes) != len(self.ways):
            for way in self.ways:
                self.remove_widget(way)
            places = PLACES if len(boxes) == len(PLACES) else ("pieces",) * len(boxes)
            self.ways = [way_to(self.kit, place, self._act, "board") for place in places]
            for way in self.ways:
                self.add_widget(way)
        for way, box in zip(self.ways, boxes, strict=True):
            self._put(way, box)

    def _touched(self, button: Control) -> None:
        if not isinstance(button.spec, Doing):
            self._act(button.spec)

    def _pressed(self, button: Control, state: str) -> None:
        """Follow the finger on "Hold to talk", even if it slides off."""
        if isinstance(button.spec, Doing):
            self._hold(state == "down")

    # --- what is shown ------------------------------------------------------------------------

    def _show(self, *_: object) -> None:
        view = self.view
        if view is None or self.arrangement is None:
            return
        if self._needs_other_arrangement(view):
            self._arrange()
            return
        ids = self.ids
        ids.lamp.ear, ids.lamp.level = view.ear, view.level
        self.ear_words = self._ear_words(view)
        if self._shown is not None and self._only_ear_changed(self._shown, view):
            self._shown = view
            return
        self._shown = view
        grows = self._grows(view)
        ids.fabric.whole = view.fabric is not None and view.fabric.off
        ids.fabric.fabric = view.fabric
        if grows:
            ids.fabric.grow(view.closes)
        ids.hands.hands = view.hands
        ids.tape.tape = view.tape
        ids.place.spans = self._place_that_fits(view, beside=self.arrangement.beside)
        ids.instruction.spans = self._instruction_spans(view)
        ids.notes.spans = self._notes_spans(view)
        ids.heard.spans = self._heard_spans(view)
        ids.stop.spans = stop_spans(view)

    def _grows(self, view: BoardView) -> bool:
        """Whether exactly one row has come on the needle since the fabric was drawn."""
        last, now = self.ids.fabric.fabric, view.fabric
        if not self.look.moves or last is None or now is None or not (last.done and now.done):
            return False
        return bool(now.done[-1].number == last.done[-1].number + 1)

    def _ear_words(self, view: BoardView) -> str:
        """Return what the listening does in words, as long as there is room for."""
        if not self.ids.ear.width:  # behind a page: nothing is laid out
            return view.ear_words
        least = self.look.letters(self.sizes.small, scaled=False)
        size = max(least, self.look.letters(self.sizes.words) * 0.75)  # as small as one line gets
        fits = width_of(view.ear_words, round(size), False) <= self.ids.ear.width
        return view.ear_words if fits else view.ear_short

    @staticmethod
    def _only_ear_changed(before: BoardView, view: BoardView) -> bool:
        return before.fabric is view.fabric and before == replace(
            view,
            ear=before.ear,
            ear_words=before.ear_words,
            ear_short=before.ear_short,
            ear_alarms=before.ear_alarms,
            band=before.band,
            level=before.level,
        )

    def _needs_other_arrangement(self, view: BoardView) -> bool:
        key = (
            *(max(len(view.number), 2), view.question, view.question_control, view.bits, view.bit),
            view.holds,
            view.stop,
            view.band,
            view.hands is None,
            *(view.answer if len(view.answer) > _LONG_ANSWER else "", view.trouble),
        )
        changed = key != getattr(self, "_arranged_for", None)
        self._arranged_for = key
        return changed

    def _place_spans(self, view: BoardView, *, beside: bool) -> list[TextSpan]:
        if not beside:
            return [
                TextSpan(
                    f"{view.state_word}, {view.side}; " if view.side else f"{view.state_word}; "
                ),
                TextSpan(view.done_words, "soft"),
            ]
        spans = [TextSpan(view.state_word, bold=True)]
        if view.side:
            with_arrow = f"{view.side} {view.arrow}".replace(" ", "\N{NO-BREAK SPACE}")
            spans += [TextSpan("\n"), TextSpan(with_arrow)]
        spans += [TextSpan("\n"), TextSpan(view.done_words, "soft")]
        return spans

    def _place_that_fits(self, view: BoardView, *, beside: bool) -> list[TextSpan]:
        """Return the words beside the number; without room for all, the last ones are left out."""
        size = round(self.look.letters(self.sizes.small, scaled=False))
        box = tuple(self.ids.place.size)
        spans, extra = self._place_spans(view, beside=beside), self._without_room(view)
        for count in range(len(extra), 0, -1):
            if fit(spans + extra[:count], box, (size, size), width_of).fits:
                return spans + extra[:count]
        return spans

    def _without_room(self, view: BoardView) -> list[TextSpan]:
        """Return the stitch count and how far it is, where there is no room for them elsewhere."""
        parts = self.arrangement.parts if self.arrangement is not None else {}
        spans: list[TextSpan] = []
        if "notes" not in parts and view.count_words:
            spans.append(TextSpan(f" \N{MIDDLE DOT} {view.count_words}"))
        if "tape" not in parts and view.tape is not None:
            spans += [TextSpan("\n"), TextSpan(view.tape.words)]
        return spans

    def _instruction_spans(self, view: BoardView) -> list[TextSpan]:
        """Show the whole row; if it is too long for the box, from the bit that is worked now."""
        if not view.bits:
            return []
        now, count = max(view.bit, 0), len(view.bits)
        tries = [bit_spans(view, first, count) for first in range(now + 1)]
        tries += [bit_spans(view, now, last) for last in range(count - 1, now, -1)]
        size = round(self.look.letters(self.sizes.instruction, scaled=False))
        box = tuple(self.ids.instruction.size)
        for spans in tries:
            if fit(spans, box, (size, size), width_of).fits:
                return spans
        return bit_spans(view, now, now + 1, dots=False)

    def _notes_spans(self, view: BoardView) -> list[TextSpan]:
        spans: list[TextSpan] = []
        stacked = self.notes_valign == "top"
        notes = view.notes if stacked else view.notes[:2]
        for at, note in enumerate(notes):
            if at:
                spans.append(TextSpan("\n") if stacked else TextSpan("   ·   ", "soft"))
            if note.due:
                spans.append(TextSpan(f" {note.words} ", "mark_ink", bold=True, ground="mark"))
            else:
                spans.append(TextSpan(note.words, "ink"))
        return spans

    def heard_spans(self) -> list[TextSpan]:
        """Return what was heard and answered, as it is shown."""
        return list(self.ids.heard.spans)

    def _heard_spans(self, view: BoardView) -> list[TextSpan]:
        """Show what was heard and the answer; without room for both, what matters more."""
        if view.question:
            return [TextSpan(view.question, "ink", bold=True)]
        heard: list[TextSpan] = []
        if view.heard:
            quoted = f"\N{LEFT DOUBLE QUOTATION MARK}{view.heard}\N{RIGHT DOUBLE QUOTATION MARK}"
            heard = [TextSpan(f"{quoted} ", "soft")]
        answer = answer_spans(view)
        due: list[TextSpan] = []
        if self.arrangement is not None and "notes" not in self.arrangement.parts:
            due = [
                TextSpan(f" {note.words} ", "mark_ink", bold=True, ground="mark")
                for note in view.notes
                if note.due
            ]
        trouble = trouble_spans(view)
        size = round(self.look.letters(self.sizes.small, scaled=False))
        box = tuple(self.ids.heard.size)
        for spans in (
            heard + answer + due + trouble,
            answer + due + trouble,
            due + trouble,
            trouble or answer,
        ):
            if spans and fit(spans, box, (size, size), width_of).fits:
                return spans
        return trouble or answer
