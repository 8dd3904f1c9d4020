"""A row put together of large keys: it is read back with its sum, and handed over as if said."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from app.display.flow import TextSpan
from app.display.keyed_row import is_said, keyed_view, refusal, said_row
from app.window.screens.pages import Page
from app.window.screens.text import Text
from engine.compose.row_keys import DIGITS, STAR, STEPS, TO_END, TO_LAST, Misplaced, row_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.situation import Situation
    from app.window.screens.control import Control
    from app.window.screens.kit import Kit
    from engine.composing import SayRow

BACK: Final = "back"
_LETTERS: Final = {**dict(zip(STEPS, "kptdysm", strict=True)), STAR: "r", TO_END: "e", TO_LAST: "l"}
"""Letters of a keyboard for what is touched: t as in together, r as in repeat."""
_CODES: Final = {
    **{ord(letter): key for key, letter in _LETTERS.items()},
    **{48 + int(digit): digit for digit in DIGITS},
    **{256 + int(digit): digit for digit in DIGITS},
    268: STAR,
    8: BACK,
    127: BACK,
}
"""Keys by their codes: letters, digits here and on the keypad, its star, backspace and delete."""
_ENTER: Final = frozenset((13, 271))
_COLUMNS: Final = (3, 4, 5, 6, 11)
"""So many keys stand beside each other, the fewest that leave all of them in view."""
_WIDEST: Final = 56.0
_TALLEST: Final = 32.0
"""mm; a larger key is no easier to hit."""
_ROOMY: Final = 180.0
"""mm of width from which there may be a keyboard: then its letters stand on the keys."""
_MOST_READ: Final = 0.34
"""Share of the page that the row may take; of a longer one its end is shown."""


@dataclass(frozen=True, slots=True)
class RowCalls:
    """
    What the page calls.

    `hand_over` gives the row to the one who judges rows, `kept` returns the keys that were kept for
    a piece, `keep` keeps them.
    """

    hand_over: Callable[[SayRow], None]
    kept: Callable[[str], str]
    keep: Callable[[str, str], None]


class RowPage(Page):
    """The row so far, which stays in view, and under it the keys."""

    def __init__(
        self, kit: Kit, calls: RowCalls, close: Callable[[], None], **properties: Any
    ) -> None:
        """Build the page with its keys and no row."""
        self.kit, self._calls = kit, calls
        self.row, self.refused = row_of(()), ""
        self.situation: Situation | None = None
        self._line, self._remark, self._off = "", "", False
        self._waiting: Situation | None = None
        """What was shown when the row was handed over; None: nothing was."""
        self.read = Text(look=kit.look, size_hint=(None, None), valign="top")
        words = kit.words
        super().__init__(
            kit.look,
            close,
            title=words("keyed", "title"),
            done_words=words("keyed", "this_row"),
            **properties,
        )
        self.add_widget(self.read)
        self.read.least = kit.look.theme.sizes.words
        self.read.capital = kit.look.theme.sizes.far_words
        self.keys: dict[str, Control] = {}
        steps, digits = self.add_shelf(), self.add_shelf()
        for key in (*STEPS, STAR, TO_END, TO_LAST, BACK, *DIGITS):
            title = key if key in DIGITS else words("keyed", f"key_{key}")
            shelf = digits if key in DIGITS else steps
            rank = "bare" if key in DIGITS else "plain"
            control = self.control_on(shelf, title, partial(self.take, key), rank=rank)
            control.capital = kit.look.theme.sizes.words * (1.5 if len(title) == 1 else 1.1)
            control.least = kit.look.theme.sizes.words
            self.keys[key] = control

    def show(self, situation: Situation) -> None:
        """Show the row that was begun for the piece of a situation."""
        self._waiting = None
        piece = situation.state.piece
        self.row = row_of(self._calls.kept(piece).split())
        self.situation, self.refused = situation, ""
        if self.row.keys and is_said(self.row, situation):
            self._change(())
        self._write()

    def put_down(self, situation: Situation) -> None:
        """Forget a row that was taken after the page was closed: a question was answered."""
        mine = self.situation is not None and situation.state.piece == self.situation.state.piece
        if mine and self.row.keys and is_said(self.row, situation):
            self.situation = situation
            self._change(())

    def follow(self, situation: Situation) -> bool:
        """Take up what became of the row; tell whether the board is what to look at now."""
        before, self.situation = self.situation, situation
        if before is None or situation.state.piece != before.state.piece:
            self.show(situation)
            return True
        waited, answered = self._waiting, situation
        if waited is not None and (
            answered.replies is not waited.replies or answered.question is not waited.question
        ):
            self._waiting = None
            no = refusal(answered)
            if no is None:
                if is_said(self.row, answered):
                    self._change(())
                return True
            self.refused = self.kit.words.reply(no)
        elif situation.question is not None and situation.question is not before.question:
            return True
        self._write()
        return False

    def take(self, key: str) -> None:
        """Take a key, or take the last one back; one that cannot be is answered with the reason."""
        if self.situation is None:
            return
        self._waiting = None
        if key == BACK:
            self._change(self.row.without_last().keys)
            return
        longer = self.row.and_key(key)
        if isinstance(longer, Misplaced):
            self.refused = self.kit.words("keyed", longer.value)
            self._write()
        else:
            self._change(longer.keys)

    def done(self) -> None:
        """Hand the row over, once; what it lacks is said instead."""
        if self.situation is None or self._waiting is not None:
            return
        lacks = self.row.lacks
        if lacks is not None:
            self.refused = self.kit.words("keyed", lacks.value)
            self._write()
            return
        self.refused, self._waiting = "", self.situation
        self._calls.hand_over(said_row(self.row, self.situation, self.kit.words))

    def turn(self, code: int) -> bool:
        """Take the keys of a keyboard; others scroll."""
        if code in _CODES:
            self.take(_CODES[code])
        elif code in _ENTER:
            self.done()
        else:
            return super().turn(code)
        return True

    def _change(self, keys: tuple[str, ...]) -> None:
        self.row, self.refused = row_of(keys), ""
        if self.situation is not None:
            self._calls.keep(self.situation.state.piece, " ".join(keys))
        self._write()

    def _write(self) -> None:
        if self.situation is None:
            return
        situation, words = self.situation, self.kit.words
        if situation.in_rounds:
            words = words.in_rounds()
        view = keyed_view(self.row, situation, words)
        self.title = words("keyed", "row", row=situation.state.working)
        self.done_words = words("keyed", "this_row")
        self.ids.done.rank = "strong" if view.fits else "plain"
        self._line, self._remark = view.line, self.refused or view.remark
        self._off = bool(self.refused)
        self.lay()

    def _spans(self, line: str) -> list[TextSpan]:
        ink = "alert" if self._off else "soft"
        return [TextSpan(line, bold=True), TextSpan("\n"), TextSpan(self._remark, ink, scale=0.8)]

    def lay(self, *_: object) -> None:
        """Give the row its room under the bar, the keys what is left."""
        super().lay()
        if not self.shelves or self.situation is None:
            return
        look, sizes = self.look, self.look.theme.sizes
        room, wide = self.scroll.height, self.scroll.width - look.mm(1.5)
        line = self._line
        self.read.capital = sizes.far_words
        self.read.spans = self._spans(line)
        if self.read.height_for(wide) > room * _MOST_READ:
            self.read.capital = sizes.words
        while self.read.height_for(wide) > room * _MOST_READ and " " in line:
            line = line.split(" ", 1)[1]
            self.read.spans = self._spans(f"\N{HORIZONTAL ELLIPSIS} {line}")
        self.read.size = (wide, self.read.height_for(wide) + look.mm(1))
        self.scroll.height = max(room - self.read.height - look.mm(1), 1)
        self.read.pos = (self.margin, self.scroll.y + self.scroll.height + look.mm(1))
        if self.width < look.mm(_ROOMY):
            self.column.width = self.scroll.width  # every millimetre counts for three keys in a row
        self._lay_keys(self.column.width / look.px_per_mm, self.scroll.height / look.px_per_mm)

    def _lay_keys(self, wide: float, tall: float) -> None:
        """Lay the keys out in a room of so many mm."""
        sizes, gap = self.look.theme.sizes, self.look.theme.sizes.gap / 2
        least = sizes.target * max(1.0, 0.8 * self.look.text_scale)
        held = (len(self.shelves[0].children), len(self.shelves[1].children))

        def rows(columns: int) -> int:
            return sum(-(-number // columns) for number in held)

        def width(columns: int) -> float:
            return (wide - gap * (columns - 1)) / columns

        can = [one for one in _COLUMNS if width(one) >= least - 0.05] or [2]
        fitting = [one for one in can if rows(one) * (sizes.target + gap) + gap <= tall]
        columns = next((one for one in fitting or can[-1:] if width(one) <= _WIDEST), can[-1])
        room = (tall - gap * (rows(columns) + 1)) / rows(columns)
        for shelf in self.shelves:
            shelf.least = max(width(columns) - 0.01, 1.0)
            shelf.tall = max(sizes.target, min(room, _TALLEST))
        for key, letter in _LETTERS.items():
            shown = self.kit.words("keyed", "letter", key=letter) if wide > _ROOMY else ""
            self.keys[key].remark = shown
