"""Draws every screen on several devices, in every theme, at usual and double text size.

    python bench/pictures.py [FOLDER]

The pictures go to `out/pictures` unless another folder is named.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from app.settings import Settings
from tests.app.at_the_needle import Needle
from tests.window_driver import Driver

SHOTS = (
    ("desktop", "light", 1.0),
    ("desktop", "dark", 1.0),
    ("tablet", "dark", 1.0),
    ("phone", "light", 1.0),
    ("phone", "contrast", 2.0),
)
PAGES = {
    "pieces": "Your pieces",
    "begin": "Begin a piece",
    "pattern": "The pattern",
    "story": "The story of this piece",
    "settings": "Settings",
    "help": "Cautions and help",
    "words": "Words and keys",
}
EVERYTHING, ESCAPE, MEASURE = 283, 27, 109


def main() -> int:
    """Draw all pictures and name each."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path("out/pictures")
    folder.mkdir(parents=True, exist_ok=True)
    cap = Needle("crew-cap", "M").say("12 rounds done", "this part is done", "20 rounds done")
    cap.say("this part is done", "3 rounds done")
    sleeve = Needle("bottle-sleeve").say("16 rows done", "measure 6 cm", "that felt tight")
    sleeve.say("8 rows done", "measure 8 3/4 cm", "3 rows done")
    for screen, palette, scale in SHOTS:
        name = f"{screen}-{palette}-{round(scale * 100)}"
        driver = Driver(
            screen=screen,
            settings=Settings(palette=palette, text_scale=scale),
            situation=Needle("mug-sleeve").situation(),
            fine=True,
        )

        def draw(what: str, driver: Driver = driver, name: str = name) -> None:
            driver.picture(folder / f"{what}-{name}.png")
            print(f"{what}-{name}.png", flush=True)

        draw("first-start")
        driver.stage.close_all()
        driver.show(cap.situation())
        draw("board-cap")
        driver.show(sleeve.situation())
        draw("board")
        driver.key(EVERYTHING)
        draw("everything")
        for page, title in PAGES.items():
            driver.key(EVERYTHING)
            driver.reach(title)
            draw(page)
        driver.key(ESCAPE)
        driver.key(MEASURE)
        draw("pad")
        driver.key(ESCAPE)
        driver.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
