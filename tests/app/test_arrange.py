"""The arrangement of the board: on any screen, at any text size, nothing overlaps."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import resources
from app.display.arrange import Arrangement, Box, Room, arrange
from app.display.theme import read_theme

THEME = read_theme(resources.text("shared/theme.toml"))
SIZES, CAPITAL = THEME.sizes, THEME.fonts.capital
SLACK = 1e-6

rooms = st.builds(
    Room,
    width=st.floats(57, 360),
    height=st.floats(57, 360),
    sizes=st.just(SIZES),
    capital=st.just(CAPITAL),
    scale=st.sampled_from([1.0, 1.25, 1.5, 2.0]),
    digits=st.integers(1, 4),
    controls=st.integers(2, 12),
    magnify=st.sampled_from([1.0, 1.25]),
    instruction=st.sampled_from([None, lambda width: (9000 / width, 2000 / width)]),
)


def boxes(arranged: Arrangement) -> list[Box]:
    """Return all boxes, parts and controls."""
    return [*arranged.parts.values(), *arranged.controls]


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes share more than an edge."""
    return (
        one.x + one.width > other.x + SLACK
        and other.x + other.width > one.x + SLACK
        and one.y + one.height > other.y + SLACK
        and other.y + other.height > one.y + SLACK
    )


def usable(room: Room) -> bool:
    """Whether it is a screen that somebody knits by: at least a small phone."""
    return room.width * room.height >= 57 * 100


@given(rooms.filter(usable))
def test_nothing_overlaps(room: Room) -> None:
    """No part of the board lies on another one."""
    for one, other in combinations(boxes(arrange(room)), 2):
        assert not overlap(one, other), (one, other)


@given(rooms.filter(usable))
def test_everything_is_on_the_screen(room: Room) -> None:
    """No part of the board reaches over the edge of the screen, and none is empty."""
    for box in boxes(arrange(room)):
        assert box.x >= 0
        assert box.y >= 0
        assert box.x + box.width <= room.width + SLACK
        assert box.y + box.height <= room.height + SLACK
        assert box.width > 0
        assert box.height > 0


@given(rooms.filter(usable))
def test_controls_can_be_hit_with_a_thumb(room: Room) -> None:
    """Every control is at least a target wide and high, and two are always there."""
    controls = arrange(room).controls
    assert len(controls) >= 2
    for box in controls:
        assert box.width >= SIZES.target - SLACK
        assert box.height >= SIZES.target - SLACK


@given(rooms.filter(usable))
def test_the_row_and_its_instruction_are_always_there(room: Room) -> None:
    """Number, instruction and what was heard are never left out, whatever else is."""
    arranged = arrange(room)
    assert {"place", "instruction", "heard"} <= arranged.parts.keys()
    assert arranged.parts["place"].height >= SIZES.numeral


@pytest.mark.parametrize(
    ("name", "width", "height"),
    [
        ("phone", 65, 141),
        ("tablet", 156, 208),
        ("tablet on its side", 208, 156),
        ("desktop", 339, 212),
    ],
)
def test_a_usual_screen_shows_everything(name: str, width: float, height: float) -> None:
    """At the usual text size a phone, a tablet and a desktop leave nothing out."""
    arranged = arrange(
        Room(width, height, SIZES, CAPITAL, instruction=lambda wide: (1300 / wide, 10))
    )
    assert arranged.left_out == (), name


def test_the_first_control_is_the_upper_left_one() -> None:
    """The most wanted control comes first: above and left of the others."""
    controls = arrange(Room(208, 230, SIZES, CAPITAL, controls=12)).controls
    assert controls[0].x == min(box.x for box in controls)
    assert controls[0].y == max(box.y for box in controls)
