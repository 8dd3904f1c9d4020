"""Draws the pictures of the README: every screen, and one piece from its plan to its last row.

python bench/pictures.py            the README's, into assets/pictures
python bench/pictures.py FOLDER     every screen on several devices, in every theme, to look at
"""

from __future__ import annotations

import itertools
import os
import sys
import tempfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from PIL import Image

from app import resources
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session import conversation
from app.session.settings import Settings
from engine.commands import RowsDone, Source
from engine.quantities import Length, LengthUnit
from engine.talk import Screen
from tests.app.at_the_needle import Needle
from tests.window_driver import Driver

if TYPE_CHECKING:
    from app.session.situation import Situation

README = Path(__file__).resolve().parent.parent / "assets" / "pictures"
WIDE = 960
"""Pixels across of a picture in the README; those of a phone are half as wide."""
COLOURS = 128
SHOTS = (
    ("desktop", "light", 1.0),
    ("desktop", "dark", 1.0),
    ("tablet", "dark", 1.0),
    ("tablet on its side", "light", 1.25),
    ("phone", "light", 1.0),
    ("phone on its side", "dark", 1.0),
    ("phone", "contrast", 2.0),
)
KEYS = {"everything": 283, "pad": 109}
ESCAPE = 27
FAR = "how far left"
HOW = "from the cast on off the needle"
A_ROW_MS = 165_000


# --- what is knitted ------------------------------------------------------------------------------


def knit(needle: Needle, *said: str) -> Needle:
    """Say sentences; every row takes its time, now a little more and now a little less."""
    clock = needle.talk._clock  # noqa: SLF001 (the clock that is set by hand)
    for words in said:
        count, _, what = words.partition(" ")
        rows = int(count) if count.isdigit() and what.startswith(("rows", "rounds")) else 0
        for row in range(rows):
            clock.ms += A_ROW_MS + row * 7919 % 40_000  # type: ignore[attr-defined]
            needle.say("row done")
        if not rows:
            needle.say(words)
    return needle


def sleeve() -> Needle:
    """Knit a good part of a bottle sleeve, measured, weighed and felt."""
    needle = Needle("bottle-sleeve")
    return knit(
        needle,
        *("swatch has 20 stitches rested", "swatch has 28 rows rested", "yarn weighs 52 g"),
        *("8 rows", "measure 3 cm off the needle", "that felt tight", "4 rows"),
        *("note this row", "note row 12 slipped the first stitch", "4 rows"),
        *("measure 5 3/4 cm", "yarn weighs 43 g", "6 rows", "that felt loose", "6 rows"),
        *("measure 10 cm", "yarn weighs 36 g", "4 rows", "i count 54 stitches", "2 rows"),
        *("measure 12 1/2 cm", "3 rows"),
    )


def cap() -> Needle:
    """Knit a crew cap into its crown."""
    needle = Needle("crew-cap", "M")
    return knit(
        needle, "12 rounds", "this part is done", "30 rounds", "this part is done", "3 rows"
    )


def with_pieces(needle: Needle) -> Situation:
    """Return the situation with four pieces in the journal."""
    talk, clock = needle.talk, needle.talk._clock  # noqa: SLF001
    for day, (pattern, size) in enumerate(
        (("mug-sleeve", None), ("mug-sleeve", None), ("lantern-sleeve", None), ("crew-cap", "L")), 2
    ):
        clock.date = f"2026-01-{day:02}T18:30:00Z"  # type: ignore[attr-defined]
        new = new_piece(resources.text(f"shared/patterns/{pattern}.toml"), size)
        if not isinstance(new, NewPiece):
            raise TypeError("A pattern that comes with Walesong does not add up.")
        other = talk.cast_on(
            replace(new, name="Mug sleeve 2") if day == 3 else new,
            Source.KEY,
        )
        for _ in range((22, 9, 0, 31)[day - 2]):
            other.hear((RowsDone(),), Source.KEY)
    pieces = talk.pieces()
    portraits = tuple((one.id, talk.listing.portrait(one.id)) for one in pieces)
    return needle.situation(pieces=pieces, stamps=talk.stamps(), portraits=portraits)


# --- drawing --------------------------------------------------------------------------------------


def shrunk(path: Path, wide: int) -> None:
    """Make a picture small: fewer pixels, and only as many colours as are needed."""
    with Image.open(path) as picture:
        flat = picture.convert("RGB")
        tall = round(flat.height * wide / flat.width)
        small = flat.resize((wide, tall), Image.Resampling.LANCZOS)
        few = small.quantize(COLOURS, dither=Image.Dither.NONE)
        few.save(path, optimize=True)


class Painter:
    """Opens a window of one device and draws its screens into a folder."""

    def __init__(self, folder: Path, now: Situation, *, small: int = 0, **how: object) -> None:
        self.folder, self.small = folder, small
        self.driver = Driver(situation=now, fine=True, **how)  # type: ignore[arg-type]

    def draw(self, name: str) -> None:
        """Draw what is shown."""
        path = self.folder / f"{name}.png"
        self.driver.frames(4)
        self.driver.picture(path)
        if self.small:
            shrunk(path, self.small)
        print(f"{path.name} {path.stat().st_size // 1024} kB", flush=True)

    def screen(self, name: str, screen: Screen) -> None:
        """Open a screen and draw it."""
        self.driver.stage.places.go_to(screen)
        self.draw(name)
        self.driver.stage.close_all()

    def key(self, name: str, code: int) -> None:
        """Press a key and draw what it brings."""
        self.driver.key(code)
        self.draw(name)
        self.driver.key(ESCAPE)


def screens(painter: Painter, ending: str = "") -> None:
    """Draw every screen."""
    for screen in Screen:
        name = "board" if screen is Screen.BOARD else screen.value
        painter.screen(f"{name}{ending}", screen)
    for name, code in KEYS.items():
        painter.key(f"{name}{ending}", code)


def a_piece(folder: Path) -> None:
    """Draw one mug sleeve from its plan to its last row."""
    needle = Needle("mug-sleeve")
    painter = Painter(folder, needle.situation(), small=WIDE * 2 // 3, settings=Settings())
    driver = painter.driver
    driver.stage.close_all()
    driver.stage.places.go_to(Screen.BEGIN)
    page = driver.stage.overlays[-1]
    chosen = next(one for one in page.library if one.title == "Mug sleeve")
    draft = replace(page.draft, pattern=chosen, size=None)
    for key, value in (
        ("stitches", 20),
        ("rows", 28),
        ("width", Length(Fraction(24), LengthUnit.CM)),
        ("length", Length(Fraction(8), LengthUnit.CM)),
    ):
        draft = draft.with_value(key, value)
    page._take(draft)  # noqa: SLF001 (as if it had been touched in)
    driver.frames(4)
    page.bring_into_view(page.paragraphs[-1])
    painter.draw("piece-1-plan")
    driver.stage.close_all()
    driver.stage.places.welcome(needle.situation())
    painter.draw("piece-2-first-row")
    driver.stage.close_all()
    for name, said in (
        ("piece-3-row-by-row", ("5 rows",)),
        ("piece-4-measured", ("5 rows", f"measure 3 1/2 cm {HOW}", "2 rows", FAR)),
        ("piece-5-counted", ("i count 49 stitches",)),
        ("piece-6-long-enough", ("i count 50 stitches", "6 rows", f"measure 6 1/2 cm {HOW}")),
        ("piece-7-finished", ("yes", "4 rows", "row done", "this piece is finished")),
    ):
        knit(needle, *said)
        driver.show(needle.situation(stamps=needle.talk.stamps()))
        painter.draw(name)
    driver.close()


def for_the_readme() -> None:
    """Draw the pictures that the README shows, always in the same wool."""
    numbers = itertools.count(7)
    setattr(conversation, "new_name", lambda: f"{next(numbers):032x}")  # noqa: B010 (not ours to see)
    README.mkdir(parents=True, exist_ok=True)
    for old in README.glob("*.png"):
        old.unlink()
    now = with_pieces(sleeve())
    painter = Painter(README, now, small=WIDE, settings=Settings())
    screens(painter)
    painter.driver.close()
    (README / "finished.png").unlink()  # this piece is not; the mug sleeve below is
    evening = Painter(
        README, now, small=WIDE * 2 // 3, screen="tablet on its side", settings=Settings("dark")
    )
    evening.draw("board-in-the-evening")
    evening.driver.close()
    phone = Painter(README, now, small=WIDE // 2, screen="phone", settings=Settings())
    phone.draw("board-on-a-phone")
    phone.driver.close()
    a_piece(README)
    whole = sum(one.stat().st_size for one in README.glob("*.png"))
    print(f"together {whole // 1024} kB", flush=True)


def to_look_at(folder: Path) -> None:
    """Draw every screen on every device."""
    folder.mkdir(parents=True, exist_ok=True)
    now, crown = with_pieces(sleeve()), cap().situation()
    for screen, palette, scale in SHOTS:
        ending = f"-{screen.replace(' ', '-')}-{palette}-{round(scale * 100)}"
        settings = Settings(palette=palette, text_scale=scale)
        painter = Painter(
            folder, Needle("mug-sleeve").situation(), screen=screen, settings=settings
        )
        painter.draw(f"first-start{ending}")
        painter.driver.stage.close_all()
        painter.driver.show(crown)
        painter.draw(f"board-cap{ending}")
        painter.driver.show(now)
        screens(painter, ending)
        painter.driver.close()


def main() -> int:
    """Draw, and name each picture."""
    with tempfile.TemporaryDirectory() as home:
        os.environ["HOME"] = home  # nothing of the one who draws is in them
        resources.data_folder = lambda: Path(home, "walesong")
        if len(sys.argv) > 1:
            to_look_at(Path(sys.argv[1]))
        else:
            for_the_readme()
    return 0


if __name__ == "__main__":
    sys.exit(main())
