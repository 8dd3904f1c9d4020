"""By chance through every screen: nothing that is touched ends the window or loses a row."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.window


@pytest.mark.parametrize("seed", [1, 2])
def test_a_walk_by_chance(tmp_path: Path, seed: int) -> None:
    """After touches, keys and words by chance the board shows its row, and again when reopened."""
    from tests.living_window import LivingWindow  # noqa: PLC0415 (imports Kivy)
    from tests.window_walk import walk  # noqa: PLC0415

    dice = Random(seed)
    for _ in range(2):
        window = LivingWindow(tmp_path / "j.walesong")
        try:
            walk(window, dice, 40)
        finally:
            window.close()
