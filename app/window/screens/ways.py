"""The four places with their pictures: this piece, the pieces, beginning one, the story."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.window.screens.picture_control import emblem_control

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.controls import Control as Spec
    from app.window.screens.kit import Kit
    from app.window.screens.picture_control import PictureControl

PLACES: Final = ("board", "pieces", "begin", "story")
"""What can be gone to, in their order; each has its control, words and picture."""


def way_to(kit: Kit, place: str, act: Callable[[Spec], None], here: str) -> PictureControl:
    """Return the control that leads to a place; the one that is seen (`here`) is marked."""
    spec = kit.controls.by_key[f"show_{place}"]
    control = emblem_control(
        kit.look,
        place,
        kit.words("ways", place),
        rank="chosen" if place == here else "bare",
        rim=1.0,
        size_hint=(None, None),
    )
    control.capital = kit.look.theme.sizes.words
    control.least = kit.look.theme.sizes.small * 0.9
    control.inset = 0.4
    control.bind(on_release=lambda *_: act(spec))
    return control


def ways_on(kit: Kit, page: str, act: Callable[[Spec], None]) -> list[PictureControl]:
    """Return the ways that stand on a page: all of them on the places, none on any other."""
    return [way_to(kit, place, act, page) for place in PLACES] if page in PLACES else []
