"""
Draw the rooms of the house from the code itself: what stands on what, and how much there is of it.

    python -m house.rooms

writes `docs/rooms.svg`. A room is a package, or the modules that lie directly in one; an arrow
goes to the room that is imported from, and is left out where a longer way leads there as well.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Final

import grimp

from house.environment import ROOT

if TYPE_CHECKING:
    from collections.abc import Mapping

PICTURE: Final = ROOT / "docs" / "rooms.svg"
PACKAGES: Final = ("app", "speech", "engine")

APART: Final = {
    "app: start": ("app.main", "app.command_line", "app.start", "app.windowed"),
    "engine: history": ("engine.history", "engine.replies", "engine.show_how"),
}
"""Modules at the top of a package that stand on its folders, while the others are stood on."""

_ARROW_HEAD = """\
<defs><marker id="a" viewBox="0 0 8 8" refX="8" refY="4" markerWidth="8" markerHeight="8"
orient="auto"><path d="M0 0 8 4 0 8z" fill="#555"/></marker></defs>"""
_WIDTH, _HEIGHT, _GAP_X, _GAP_Y, _EDGE = 160, 44, 24, 30, 20


@dataclass(frozen=True, slots=True)
class House:
    """The rooms with their numbers of modules and lines, and the arrows that are needed."""

    rooms: Mapping[str, tuple[int, int]]
    arrows: frozenset[tuple[str, str]]


def room_of(module: str) -> str:
    """Return the room in which a module lies: its folder, and for a window's parts the window."""
    for room, modules in APART.items():
        if module in modules:
            return room
    folder = (ROOT / module.replace(".", "/")).is_dir()
    package = module if folder else module.rpartition(".")[0]
    return "app.window" if package.startswith("app.window.") else package


def house() -> House:
    """Return the house as the code is now."""
    graph = grimp.build_graph(*PACKAGES, exclude_type_checking_imports=True, cache_dir=None)
    counted: dict[str, list[int]] = defaultdict(list)
    direct: dict[str, set[str]] = defaultdict(set)
    for module in sorted(graph.modules):
        path = ROOT / module.replace(".", "/")
        source = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
        here = room_of(module)
        counted[here].append(len(source.read_text(encoding="utf-8").splitlines()))
        for other in graph.find_modules_directly_imported_by(module):
            if room_of(other) != here:
                direct[here].add(room_of(other))
    rooms = {name: (len(lines), sum(lines)) for name, lines in counted.items()}
    return House(rooms, _needed(direct))


def _needed(direct: Mapping[str, set[str]]) -> frozenset[tuple[str, str]]:
    """Return the arrows without those for which a longer way stands too."""
    below: dict[str, set[str]] = {}

    def reached(room: str) -> set[str]:
        if room not in below:
            below[room] = set()  # a circle ends here; another check names it
            for other in direct.get(room, ()):
                below[room] |= {other} | reached(other)
        return below[room]

    return frozenset(
        (room, to)
        for room, others in direct.items()
        for to in others
        if not any(to in reached(other) for other in others if other != to)
    )


def floors(plan: House) -> list[list[str]]:
    """Return the rooms floor by floor, those that stand on nothing last."""
    height: dict[str, int] = {}

    def high(room: str) -> int:
        if room not in height:
            height[room] = 0
            height[room] = 1 + max((high(to) for one, to in plan.arrows if one == room), default=-1)
        return height[room]

    by_floor: dict[int, list[str]] = defaultdict(list)
    for room in sorted(plan.rooms):
        by_floor[high(room)].append(room)
    return [by_floor[floor] for floor in sorted(by_floor, reverse=True)]


def drawn(plan: House) -> str:
    """Return the picture as SVG."""
    rows = floors(plan)
    widest = max(len(row) for row in rows)
    width = 2 * _EDGE + widest * (_WIDTH + _GAP_X) - _GAP_X
    places: dict[str, tuple[float, float]] = {}
    for level, row in enumerate(rows):
        left = (width - len(row) * (_WIDTH + _GAP_X) + _GAP_X) / 2
        for at, room in enumerate(row):
            places[room] = (left + at * (_WIDTH + _GAP_X), _EDGE + level * (_HEIGHT + _GAP_Y))
    lines = [
        f'<path d="M{places[one][0] + _WIDTH / 2:.0f} {places[one][1] + _HEIGHT:.0f} '
        f'L{places[to][0] + _WIDTH / 2:.0f} {places[to][1]:.0f}" marker-end="url(#a)"/>'
        for one, to in sorted(plan.arrows)
    ]
    boxes = []
    for room, (x, y) in places.items():
        modules, count = plan.rooms[room]
        name = escape(room if ":" in room else room.replace(".", "/") + "/")
        boxes.append(
            f'<rect x="{x:.0f}" y="{y:.0f}" width="{_WIDTH}" height="{_HEIGHT}" rx="6"/>'
            f'<text x="{x + _WIDTH / 2:.0f}" y="{y + 20:.0f}" font-weight="bold">{name}</text>'
            f'<text x="{x + _WIDTH / 2:.0f}" y="{y + 37:.0f}">{modules} modules, '
            f"{round(count, -2):,} lines</text>"
        )
    height = 2 * _EDGE + len(rows) * (_HEIGHT + _GAP_Y) - _GAP_Y
    return "\n".join(
        (
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
                'font-family="sans-serif" font-size="12" text-anchor="middle">'
            ),
            _ARROW_HEAD,
            f'<rect width="{width}" height="{height}" fill="#fff"/>',
            '<g stroke="#888" fill="none">',
            *lines,
            '</g><g fill="#f4efe6">',
            *(box.split("<text", 1)[0] for box in boxes),
            '</g><g fill="#222">',
            *("<text" + box.split("<text", 1)[1] for box in boxes),
            "</g></svg>\n",
        )
    )


def main() -> int:
    """Draw the house anew."""
    PICTURE.write_text(drawn(house()), encoding="utf-8")
    print(f"{PICTURE.relative_to(ROOT)} is drawn.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
