"""Draws every pose of the hands as a picture, to look at: python bench/drawn_hands.py FOLDER."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from PIL import Image, ImageDraw

from app.drawings.hands.album import TOPICS
from app.drawings.hands.painting import BOTTOM, LEFT, RIGHT, TOP, Line, painted
from app.drawings.hands.strands import Part, Pose
from app.session.settings import YarnHand

INKS = {
    Part.FABRIC: ("#e6dcc8", "#8f8570"),
    Part.OLD: ("#cdbb95", "#6b5f43"),
    Part.NEXT: ("#e9b44c", "#5e430c"),
    Part.YARN: ("#b5413a", "#4a1512"),
    Part.TAIL: ("#e2a29d", "#6b3531"),
    Part.FULL: ("#c9d6df", "#3d4c57"),
    Part.FREE: ("#8fb3c9", "#24404f"),
    Part.HOOK: ("#8fb3c9", "#24404f"),
    Part.HAND: ("#f1d3bb", "#a4765a"),
    Part.ARROW: ("#1d5c3a", "#ffffff"),
}


def picture(pose: Pose, px: float = 56.0, over: int = 2) -> Image.Image:
    """Return a pose as an image, `px` pixels to a stitch width."""
    k = px * over
    image = Image.new("RGB", (round((RIGHT - LEFT) * k), round((TOP - BOTTOM) * k)), "#fffdf8")
    draw = ImageDraw.Draw(image)

    def line(
        points: Line, width: float, ink: str, *, first: bool = True, last: bool = True
    ) -> None:
        placed = [((x - LEFT) * k, (TOP - y) * k) for x, y in points]
        draw.line(placed, fill=ink, width=max(round(width * k), 1), joint="curve")
        r = width * k / 2
        ends = [placed[0]] * first + [placed[-1]] * last
        for x, y in (*placed[1:-1], *ends):
            draw.ellipse((x - r, y - r, x + r, y + r), fill=ink)

    for layer in painted(pose):
        for stroke in layer:
            rim = 0.07 if stroke.part is not Part.ARROW else 0.1
            edge = INKS[stroke.part][1]
            line(stroke.line, stroke.thick + rim, edge, first=stroke.starts, last=stroke.ends)
        for stroke in layer:
            line(stroke.filling, stroke.thick - 0.02, INKS[stroke.part][0])
    return image.resize((image.width // over, image.height // over), Image.Resampling.LANCZOS)


def sheet(poses: list[Pose], per_row: int = 4, px: float = 30.0) -> Image.Image:
    """Return several poses on one sheet."""
    images = [picture(pose, px) for pose in poses]
    w, h = images[0].size
    rows = -(-len(images) // per_row)
    out = Image.new("RGB", ((w + 6) * min(per_row, len(images)), (h + 6) * rows), "#888888")
    for n, image in enumerate(images):
        out.paste(image, ((n % per_row) * (w + 6), (n // per_row) * (h + 6)))
    return out


def main(folder: Path) -> None:
    """Write every topic as one picture, for both holds where they differ."""
    folder.mkdir(parents=True, exist_ok=True)
    for topic, drawings in TOPICS.items():
        for hold in YarnHand:
            poses = [draw(hold) for draw in drawings]
            if hold is YarnHand.LEFT and poses == [draw(YarnHand.RIGHT) for draw in drawings]:
                continue
            where = folder / f"{topic}-{hold}.png"
            sheet(poses, 3, 48.0).save(where)
            print(where)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
