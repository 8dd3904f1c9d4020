"""
A walk through the real window by chance: touches, keys and numbers, on a journal of its own.

A short one is in the ordinary tests; `python -m tests.window_walk --steps 10000` goes on for long.
With `--by-chance` each window is opened on a journal whose records were made by dice, too.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tests.living_window import LivingWindow

SETTLED_EVERY = 8
_DIGITS = (*range(48, 58), 46, 13)


class WindowLostError(AssertionError):
    """The window is not what it should be; the sentence says after which steps."""


def walk(window: LivingWindow, dice: Random, steps: int) -> list[str]:
    """
    Take so many steps and return what was done.

    Raises:
        WindowLostError: a step raised, or the board does not show the row that is being worked.

    """
    done: list[str] = []
    for at in range(steps):
        try:
            done.append(_step(window, dice))
            if at % SETTLED_EVERY == SETTLED_EVERY - 1:
                _settled(window, done)
        except WindowLostError:
            raise
        except Exception as error:
            raise WindowLostError(f"{error!r} after {done[-12:]}") from error
    _settled(window, done)
    return done


def _settled(window: LivingWindow, done: list[str]) -> None:
    window.settle()
    now, view = window.stage.situation, window.board.view
    if not window.assistant.ready() or window.assistant.failed:
        raise WindowLostError(f"{window.assistant.failed or 'no assistant'} after {done[-12:]}")
    if now is None or view is None or view.undrawn:
        raise WindowLostError(f"nothing is shown after {done[-12:]}")
    shown = {str(now.state.working), str(now.state.done)}
    if not now.opening and view.number not in shown:
        raise WindowLostError(f"{view.number} stands there for {shown} after {done[-12:]}")


def _step(window: LivingWindow, dice: Random) -> str:
    top = window.stage.overlays[-1] if window.stage.overlays else None
    if hasattr(top, "typed") and dice.random() < 0.7:
        return _type(top, dice)
    if hasattr(top, "press") and dice.random() < 0.8:
        code = dice.choice(_DIGITS)
        window.key(code)
        return f"digit {code}"
    if dice.random() < 0.4:
        code = dice.choice(sorted(window.stage.places.keys.bindings))
        window.key(code)
        return f"key {code}"
    controls = [one for one in _inside(top or window.board) if hasattr(one, "rank")]
    seen = [one for one in controls if one.opacity and not one.disabled and one.width > 1]
    if not seen:
        window.key(27)
        return "escape"
    control = dice.choice(seen)
    control.dispatch("on_release")  # as a touch does, wherever the page is scrolled to
    window.frames(1)
    return f"touch {control.title!r}"


def _type(line: Any, dice: Random) -> str:
    words = dice.choice(
        ["row done", "4.5 mm", "100 g, 200 m", "2 rows done", "yes", "no", "ripped back one row",
         "measure six centimetres", "work on piece one now", "knit the same again", "\N{SNOWFLAKE}"]
    )  # fmt: skip
    line.ids.line.text = words
    line.send()
    return f"type {words!r}"


def _inside(widget: Any) -> list[Any]:
    return [widget, *(one for child in widget.children for one in _inside(child))]


def journal_by_chance(path: Path, dice: Random) -> None:
    """Write a journal of one to three pieces whose records may be of any kind and content."""
    from engine.journal.sqlite import SqliteJournal  # noqa: PLC0415
    from tests.by_chance import a_history  # noqa: PLC0415

    journal = SqliteJournal.open(path)
    for _ in range(dice.randint(1, 3)):
        records = a_history(dice)
        if records:
            journal.append(records)
    journal.close()


def main() -> None:
    """Walk for long, on a journal that goes on from window to window, or on one by dice each."""
    from tests.living_window import LivingWindow  # noqa: PLC0415 (imports Kivy)
    from tests.window_driver import SCREENS  # noqa: PLC0415

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--steps", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--each", type=int, default=500, help="steps in one window")
    parser.add_argument("--by-chance", action="store_true", help="journals made by dice")
    parser.add_argument("--screen", choices=SCREENS, default="desktop")
    options = parser.parse_args()
    folder = Path(tempfile.mkdtemp())
    for at in range(0, options.steps, options.each):
        dice = Random(options.seed + at)
        journal = folder / (f"{at}.walesong" if options.by_chance else "walk.walesong")
        if options.by_chance:
            journal_by_chance(journal, dice)
        window = LivingWindow(journal, options.screen)
        walk(window, dice, min(options.each, options.steps - at))
        window.close()
        print(at + options.each, "steps", flush=True)  # noqa: T201
    print(f"{options.steps} steps, no fault; the journals are in {folder}")  # noqa: T201


if __name__ == "__main__":
    main()
