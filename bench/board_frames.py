"""
How much work (CPU time) a row of a large lace is for the board, under software drawing.

python bench/board_frames.py
"""

from __future__ import annotations

import statistics
import sys
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from app import wall
from app.display.board_view import board_view
from tests.app.at_the_needle import Needle
from tests.window_driver import Driver

if TYPE_CHECKING:
    from collections.abc import Callable

LACE = """
title = "Lace"
id = "lace"
cast_on = 120
[[section]]
id = "body"
title = "Body"
rows = [
  "Row 1 (RS): k2, *yo, k2tog, k2; rep from * to last 2 sts, k2",
  "Row 2 (WS): p to end",
  "Row 3 (RS): k2, *k2, yo, k2tog; rep from * to last 2 sts, k2",
  "Row 4 (WS): p to end",
  "Rep rows 1 to 4 99 times more",
]
"""
ROWS = 40


def main() -> int:
    """Knit to row 200 of a lace of 120 stitches, and time the rows after it."""
    wall.RAISES = True  # what cannot be drawn is no drawing that is fast
    needle = Needle(LACE)
    for _ in range(200):
        needle.say("row done")
    driver = Driver(situation=needle.situation())
    driver.stage.close_all()
    driver.frames(4)
    desk = driver.desk
    times: dict[str, list[float]] = {}

    def spent(name: str, work: Callable[[], object]) -> None:
        begun = time.process_time()
        work()
        times.setdefault(name, []).append((time.process_time() - begun) * 1000)

    from kivy.core.window import Window  # noqa: PLC0415 (the driver has chosen it by now)

    for _ in range(ROWS):
        needle.say("row done")
        now = needle.situation()
        spent("what is shown, worked out", partial(board_view, now, desk.words, desk.controls))
        driver.inbox.put(now)
        spent("all of it, until it is drawn", driver.frames)
        Window.canvas.ask_update()
        spent("drawn again, nothing changed", driver.frames)
    for name, one in times.items():
        usual, slow = (statistics.quantiles(one, n=20)[at] for at in (9, -1))
        print(f"{name:<30} median {usual:6.1f} ms, p95 {slow:6.1f} ms of CPU time")
    driver.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
