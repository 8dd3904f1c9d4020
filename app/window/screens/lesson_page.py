"""A lesson in the window: hands drawn large, one sentence, and what may be said or touched now."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from app.display.flow import TextSpan
from app.drawings.garter import garter
from app.drawings.hands.album import HandsShown
from app.lessons.shelf import lessons, own_folder
from app.lessons.topics import Topic, topics
from app.session.controls import phrase_of
from app.window.screens.control import Control
from app.window.screens.overlay import Overlay, Shelf
from app.window.screens.picture_control import PictureControl
from app.window.screens.text import Text
from app.window.views.fabric_view import FabricView
from app.window.views.hands_view import HandsView

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.lessons.leading import LessonNow, Shown
    from app.session.controls import Control as Spec
    from app.session.situation import Situation
    from app.window.screens.kit import Kit

_ALWAYS: Final = ("step_back", "say_again", "lesson_slower", "lesson_behind", "lesson_wrong")
_NTH: Final = ("first", "second", "third", "fourth", "fifth", "sixth")
_MOVE_S: Final = 1.6
"""So many seconds a move takes at the usual speed."""
_ROWS: Final = 8
"""So many rows of a strip are drawn below those that are counted: four ridges."""
_WORDS: Final = 0.42
"""Share of the room that the sentence may take on a tall screen."""
_ASKED: Final = 0.22
"""Share of the room that the question above pictures to choose may take."""
_NARROW: Final = 120.0
"""mm of width below which pictures to choose have small words."""
_SHAPE: Final = 1.45
"""How much wider than high a picture of the hands is."""
_NAMED: Final = ("count", "step_back", "say_again")
"""What is called otherwise here than on the board."""


class LessonPage(Overlay):
    """
    Shows the lesson of a situation; without one the lessons that there are.

    It stays while its controls and keys act; `left` is called when it is put away.
    """

    stays = True
    takes_keys = True

    def __init__(
        self,
        kit: Kit,
        act: Callable[[Spec], None],
        begin: Callable[[int], None],
        close: Callable[[], None],
        **properties: Any,
    ) -> None:
        """Build an empty page; `act` does what a control says, `begin` begins a lesson."""
        self.kit, self._act, self._begin = kit, act, begin
        super().__init__(kit.look, close, title=kit.words("lesson", "title"), **properties)
        look = kit.look
        self.picture = HandsView(look=look, wool=look.wool, size_hint=(None, None))
        self.strip = FabricView(
            look=look, wool=look.wool, numbered=False, whole=True, size_hint=(None, None)
        )
        self.words = Text(
            look=look,
            capital=look.theme.sizes.instruction,
            least=look.theme.sizes.small,
            size_hint=(None, None),
            valign="top",
        )
        self.cards: list[PictureControl] = []
        self.shelf = Shelf(look)
        self.shelf.size_hint_x = None
        for widget in (self.picture, self.strip, self.words, self.shelf):
            self.add_widget(widget)
        self._shown: object = None
        self._drawn: object = None
        self.bind(size=self.lay, bar=self.lay)
        self.shelf.bind(minimum_height=self.lay)

    def show(self, situation: Situation) -> None:
        """Show where the learner is."""
        now = situation.lesson
        key = (now, self.look.left_handed, self.look.yarn_hand, self.look.text_scale)
        if key == self._shown and now is not None:
            return
        self._shown = key
        for card in self.cards:
            self.remove_widget(card)
        self.cards = []
        self.shelf.clear_widgets()
        self.picture.wool = self.strip.wool = self.look.wool
        self.strip.fabric = None
        if now is None:
            self._choose_lesson()
        else:
            self._lesson(now)
        self.lay()

    def look_changed(self) -> None:
        """Lay the page out in the new look."""
        super().look_changed()
        self.lay()

    # --- what is on it ------------------------------------------------------------------------

    def _choose_lesson(self) -> None:
        """List the lessons; a file that cannot be used is told with its reason."""
        words = self.kit.words
        self.title, self.subtitle = words("lesson", "title"), ""
        self.picture.hands = HandsShown(Topic.HOLD)
        spans = [TextSpan(words("lesson", "choose"))]
        phrase = self.kit.controls.by_key["begin_lesson_number"]
        for number, one in enumerate(lessons(), 1):
            if one.lesson is None:
                spans += [
                    TextSpan("\n"),
                    TextSpan(f"{one.name}: {one.problem}", "alert", scale=0.6),
                ]
                continue
            control = Control(look=self.look, title=one.lesson.title)
            control.rank = "strong" if number == 1 else "plain"
            control.phrase = phrase_of(phrase, self.kit.book).replace("…", str(number))
            control.remark = words("lesson", "minutes", minutes=one.lesson.minutes)
            control.bind(on_release=lambda _, number=number: self._begin(number))
            self.shelf.put(control)
        own = words("lesson", "own", folder=str(own_folder()))
        self.words.spans = [*spans, TextSpan("\n"), TextSpan(own, "soft", scale=0.5)]

    def _lesson(self, now: LessonNow) -> None:
        leading, seen, words = now.leading, now.shown, self.kit.words
        self.title = leading.lesson.title
        steps = len(leading.lesson.steps)
        self.subtitle = (
            "" if leading.over else words("lesson", "step", number=leading.at + 1, count=steps)
        )
        said = set(now.said)
        spans: list[TextSpan] = []
        for sentence in seen.sentences:
            ink = "soft" if sentence in said else "ink"
            scale = 0.7 if sentence in said else 1.0
            spans += [TextSpan("\n")] if spans else []
            spans.append(TextSpan(sentence, ink, scale=scale))
        self.words.spans = spans
        self._draw(seen)
        counts = not leading.over and leading.step.count and not seen.topic and not seen.choices
        self.strip.fabric = garter(leading.step.count, _ROWS) if counts else None
        for nth, topic in zip(_NTH, seen.choices, strict=False):
            self.cards.append(self._card(nth, topic))
        for at, key in enumerate(_keys(now)):
            spec = self.kit.controls.by_key[key]
            name = words("lesson", "none") if seen.choices and key == "lesson_ready" else spec.name
            name = words("lesson", key) if key in _NAMED else name
            control = Control(look=self.look, title=name, rank="strong" if not at else "plain")
            control.phrase = phrase_of(spec, self.kit.book, answering=True)
            control.bind(on_release=lambda _, spec=spec: self._act(spec))
            self.shelf.put(control)

    def _draw(self, seen: Shown) -> None:
        """Draw what is shown; the hands move to it from the picture before, if they may."""
        picture = self.picture
        picture.behind = seen.behind
        picture.hands = HandsShown(seen.topic, seen.picture) if seen.topic else None
        drawn = (seen.topic, seen.picture, seen.turn)
        if drawn == self._drawn:
            return
        self._drawn = drawn
        picture.still()
        if seen.topic is not None and seen.picture and self.look.moves:
            picture.move(HandsShown(seen.topic, seen.picture - 1), _MOVE_S / seen.speed)

    def _card(self, nth: str, topic: Topic) -> PictureControl:
        """Return what may be seen as a picture to choose."""
        look = self.look
        spec = self.kit.controls.by_key[f"lesson_{nth}"]
        picture = HandsView(look=look, wool=look.wool, hands=HandsShown(topic))
        card = PictureControl(look, picture, title=topics()[topic].title, size_hint=(None, None))
        sizes = look.theme.sizes
        narrow = self.width < look.mm(_NARROW)
        card.capital, card.least = sizes.words if narrow else sizes.far_words, sizes.small * 0.8
        card.phrase = phrase_of(spec, self.kit.book, answering=True)
        card.words_tall = 14.0 * look.text_scale
        card.bind(on_release=lambda *_: self._act(spec))
        self.add_widget(card)
        return card

    # --- laying it out ------------------------------------------------------------------------

    def lay(self, *_: object) -> None:
        """Share the room between picture, sentence and controls."""
        if not hasattr(self, "shelf"):
            return
        look, sizes = self.look, self.look.theme.sizes
        edge, gap = self.margin, look.mm(sizes.gap)
        wide = max(self.width - 2 * edge, 1)
        self.shelf.least = sizes.target * max(1.0, look.text_scale)
        self.shelf.tall = max(sizes.target, 4 + 11.0 * look.text_scale)
        self.shelf.width = wide
        self.shelf.pos = (edge, gap)
        low = gap * 2 + self.shelf.minimum_height
        top = self.height - self.bar - look.mm(5)
        room = max(top - low, 1)
        view = self.picture if self.strip.fabric is None else self.strip
        for one in (self.picture, self.strip):
            one.size, one.opacity = (0, 0), 1 if one is view else 0
        if self.cards:
            self._lay_cards(edge, low, wide, room)
        elif view is self.picture and self.picture.hands is None:
            self.words.size, self.words.pos = (wide, room), (edge, low)
        elif wide > room * 1.2:
            part = wide * 0.58
            view.size, view.pos = (part, room), (edge, low)
            self.words.size = (wide - part - gap, room)
            self.words.pos = (edge + part + gap, low)
        else:
            said = min(self.words.height_for(wide) + 2, room * _WORDS)
            self.words.size, self.words.pos = (wide, said), (edge, low)
            view.size, view.pos = (wide, room - said - gap), (edge, low + said + gap)

    def _lay_cards(self, x: float, low: float, wide: float, room: float) -> None:
        """Lay the pictures to choose beside each other, as large as can be, the question above."""
        look, gap = self.look, self.look.mm(self.look.theme.sizes.gap / 2)
        said = min(self.words.height_for(wide) + 2, room * _ASKED)
        self.words.size, self.words.pos = (wide, said), (x, low + room - said)
        count, left = len(self.cards), room - said

        def sizes(across: int) -> tuple[float, float]:
            down = -(-count // across)
            return (wide - gap * (across - 1)) / across, (left - gap * down) / down

        def drawn(across: int) -> float:
            each, tall = sizes(across)
            return min(each / _SHAPE, tall - look.mm(self.cards[0].words_tall))

        across = max(range(1, count + 1), key=drawn)
        (each, tall), down = sizes(across), -(-count // across)
        for at, card in enumerate(self.cards):
            column, row = at % across, at // across
            card.size = (each, tall)
            card.pos = (x + column * (each + gap), low + (down - 1 - row) * (tall + gap))


def _keys(now: LessonNow) -> tuple[str, ...]:
    """Return the controls that make sense now, by their keys, the likeliest first."""
    leading = now.leading
    if leading.over:
        return ("step_back", "lesson_leave")
    counts = ("count",) if leading.step.count and leading.rescue is None else ()
    if leading.offered:
        return (*counts, "lesson_ready", "step_back")
    return (*(counts or ("lesson_ready",)), *_ALWAYS)
