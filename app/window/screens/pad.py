"""The number pad: counts, rows, lengths with eighths, weights; digits by touch or by key."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final, Protocol

from app.session.controls import MINUS, Asks, Entry
from app.window.screens.control import Control
from app.window.screens.overlay import Shelf
from app.window.screens.pages import Page
from engine.quantities import LengthUnit, MassUnit

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.controls import Answer
    from app.window.screens.kit import Kit

_PARTS: Final = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "⅛": Fraction(1, 8)}
_FRACTIONS: Final = {
    Fraction(1, 8): "⅛", Fraction(1, 4): "¼", Fraction(3, 8): "⅜", Fraction(1, 2): "½",
    Fraction(5, 8): "⅝", Fraction(3, 4): "¾", Fraction(7, 8): "⅞",
}  # fmt: skip
_UNITS: Final[dict[Asks, tuple[LengthUnit | MassUnit, ...]]] = {
    Asks.LENGTH: (LengthUnit.CM, LengthUnit.IN),
    Asks.MASS: (MassUnit.G, MassUnit.OZ),
}


_KEY_ROWS: Final = 5  # rows of three keys without which there is no number
_MOST_KEY: Final = 34.0  # mm: larger than that a key is no easier to hit


def entry_words(entry: Entry) -> str:
    """Return an entry as it is shown: "4⅜ in", "54", "11.5 cm"."""
    number = entry.digits
    if entry.part:
        number = f"{number if number != '0' else ''}{_FRACTIONS[entry.part]}"
    number = number or "\N{EN DASH}"
    return f"{number} {entry.unit}" if entry.unit is not None else number


class Asked(Protocol):
    """What a number is asked for."""

    @property
    def name(self) -> str:
        """What it is called."""

    @property
    def asks(self) -> Asks:
        """What sort of number it is."""

    @property
    def least(self) -> int:
        """The smallest number it can be."""


class NumberPad(Page):
    """Asks for a number and hands it over."""

    def __init__(
        self,
        kit: Kit,
        asked: Asked,
        answered: Callable[[Answer], None],
        close: Callable[[], None],
        *,
        phrase: str = "",
        **properties: Any,
    ) -> None:
        """Build the pad; it begins with the knitter's own unit. `phrase` says the same in words."""
        look = kit.look
        self.spec, self._answered, self._phrase = asked, answered, phrase
        known = _UNITS.get(asked.asks, ())
        own = [unit for unit in (*kit.units, *known) if unit in known]
        self.entry = Entry(asked.asks, unit=own[0] if own else None)
        self.keys: dict[str, Control] = {}
        self.words = kit.words
        super().__init__(look, close, done_words=kit.words("screens", "ok"), **properties)
        self.shelf = Shelf(look)
        self.column.add_widget(self.shelf)
        for sign in ("1", "2", "3", "4", "5", "6", "7", "8", "9", ".", "0", "back"):
            self._key(sign)
        if asked.asks is not Asks.NUMBER:
            for sign in (*(str(unit) for unit in known), *_PARTS):
                self._key(sign)
        self.lay()
        self._show()

    def _key(self, sign: str) -> None:
        key = Control(
            look=self.look,
            title={"back": "\N{LEFTWARDS ARROW}"}.get(sign, sign),
            capital=self.look.theme.sizes.far_words * 1.5,
            least=self.look.theme.sizes.words,
        )
        key.bind(on_release=lambda *_: self.press(sign))
        self.keys[sign] = key
        self.shelf.put(key)

    def lay(self, *_: object) -> None:
        """Lay the keys out in three columns, or in six where the screen is low."""
        super().lay()
        look = self.look
        self.column.width = self.scroll.width  # every millimetre counts for three keys in a row
        target, gap = look.theme.sizes.target, look.theme.sizes.gap / 2
        wide, tall = self.scroll.width / look.px_per_mm, self.scroll.height / look.px_per_mm
        columns = 3 if tall >= _KEY_ROWS * (target + gap) or wide < 6 * (target + gap) else 6
        rows = -(-len(self.keys) // columns)
        self.shelf.size_hint_x = None
        self.shelf.width = min(self.column.width, look.mm(columns * (_MOST_KEY + gap)))
        self.shelf.pos_hint = {"center_x": 0.5}
        across = self.shelf.width / look.px_per_mm
        self.shelf.least = max(target, (across - gap * (columns - 1)) / columns - 0.01)
        self.shelf.tall = max(target, min((tall - gap * (rows - 1)) / rows, _MOST_KEY * 0.7))

    def press(self, sign: str) -> None:
        """Take one sign: a digit, ".", "back", a part of an inch or a unit."""
        if sign in _PARTS:
            step = _PARTS[sign]
            has = (self.entry.part / step) % 2 >= 1
            self.entry = self.entry.with_part(self.entry.part + (-step if has else step))
        elif sign in {unit.value for units in _UNITS.values() for unit in units}:
            unit = next(u for units in _UNITS.values() for u in units if u.value == sign)
            self.entry = self.entry.in_unit(unit)
        else:
            self.entry = self.entry.press(sign)
        self._show()

    def done(self) -> None:
        """Hand the value over, if there is one, and close."""
        answer = self.entry.answer(self.spec.least)
        if answer is None:
            return
        self.close()
        self._answered(answer)

    def _show(self) -> None:
        words = entry_words(self.entry)
        self.title = f"{self.spec.name}: {words}"
        if self.entry.odd:
            below = self.entry.digits.startswith(MINUS)
            why = "below_none" if below else "no_such_number"
            self.subtitle = self.words("pad", why)
        elif self._phrase:
            said = self._phrase.replace("\N{HORIZONTAL ELLIPSIS}", words, 1)
            self.subtitle = self.words("screens", "say_so", words=said)
        else:
            self.subtitle = ""
        self.ids.done.rank = "strong" if self.entry.answer(self.spec.least) is not None else "plain"
        by_eighths = self.entry.unit in {LengthUnit.IN, MassUnit.OZ}
        for sign, step in _PARTS.items():
            if sign in self.keys:
                on = by_eighths and (self.entry.part / step) % 2 >= 1
                self.keys[sign].rank = "chosen" if on else "plain"
                self.keys[sign].disabled = not by_eighths
                self.keys[sign].opacity = 1 if by_eighths else 0.0
        for unit in _UNITS.get(self.spec.asks, ()):
            self.keys[unit.value].rank = "chosen" if unit is self.entry.unit else "plain"
        dot = self.keys["."]
        dot.disabled = self.spec.asks is Asks.NUMBER
        dot.opacity = 0.0 if dot.disabled else 1
