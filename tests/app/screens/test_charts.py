"""The drawings against rows, on a real window: what they say beside their lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tests.app.at_the_needle import Needle

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.window_driver import Driver

    Opener = Callable[..., Driver]

pytestmark = pytest.mark.window

F2 = 283


@pytest.mark.parametrize(
    "said", [("4 rows done",), ("20 rows done", "measure 15 cm")], ids=["begun", "nearly there"]
)
def test_words_in_the_chart_leave_each_other_room(
    open_window: Opener, monkeypatch: pytest.MonkeyPatch, said: tuple[str, ...]
) -> None:
    """On a small phone no sign of the lengths lies over another or over the numbers of an axis."""
    from app.window.screens.text import width_of  # noqa: PLC0415 (imports Kivy)
    from app.window.views.chart import Chart  # noqa: PLC0415 (imports Kivy)

    drawn: dict[Any, list[tuple[str, float, float, float]]] = {}
    plain = Chart.words

    def noted(chart: Any, text: str, x: float, y: float, **how: Any) -> None:
        wide = width_of(text, how.get("size") or chart.size, bold=how.get("bold", False))
        left = chart._left(x, how.get("align", 0.0), wide)
        drawn.setdefault(chart, []).append((text, left, left + wide, y))
        plain(chart, text, x, y, **how)

    monkeypatch.setattr(Chart, "words", noted)
    needle = Needle("bottle-sleeve").say("16 rows done", "measure 6 cm", *said)
    driver = open_window(situation=needle.situation(), screen="small phone")
    driver.key(F2)
    driver.reach("The story of this piece")
    chart = [one for one in drawn if one.unit == "cm"][-1]
    words = drawn[chart]
    assert {"15 cm", "10 cm"} <= {text for text, *_ in words}
    assert " ".join(text for text, *_ in words).count("long enough") == 2
    line = chart.told * chart.look.theme.fonts.capital * 1.6
    for at, (text, left, right, y) in enumerate(words):
        for other, its_left, its_right, its_y in words[:at]:
            apart = right <= its_left or its_right <= left
            assert apart or abs(y - its_y) >= line - 1, (text, other)
