"""A real window for each test, drawn where nobody sees it, and closed afterwards."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.window_driver import Driver


@pytest.fixture
def open_window() -> Iterator[Callable[..., Driver]]:
    """Return what opens a window; every window is closed when the test ends."""
    from tests.window_driver import Driver  # noqa: PLC0415 (imports Kivy)

    opened: list[Driver] = []

    def open_one(**how: Any) -> Driver:
        while opened:
            opened.pop().close()
        opened.append(Driver(**how))
        return opened[0]

    yield open_one
    while opened:
        opened.pop().close()
