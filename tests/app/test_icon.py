"""The window's icon is what the icon's SVG draws."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from app import resources
from app.drawings.icon_art import SIDE, icon_pixels


def test_the_picture_that_is_shipped_is_drawn_from_the_svg() -> None:
    """Drawing it anew gives the same points, so that the two cannot drift apart."""
    shipped = np.asarray(Image.open(io.BytesIO(resources.data("assets/icon.png"))))
    assert shipped.shape == (SIDE, SIDE, 4)
    drawn = icon_pixels(resources.text("assets/icon.svg"))
    assert np.abs(shipped.astype(int) - drawn.astype(int)).max() <= 1


def test_corners_are_clear_ground_and_stitches_have_their_colours() -> None:
    """Outside the rounded square nothing; in it the ground, and wool where a stitch lies."""
    drawn = icon_pixels(resources.text("assets/icon.svg"))
    assert drawn[0, 0, 3] == 0
    assert tuple(drawn[20, 128]) == (0xFA, 0xF4, 0xE8, 255)
    assert tuple(drawn[54, 38]) == (0xD8, 0x65, 0x4A, 255)
    assert tuple(drawn[54, 38 - 12]) == (0x9C, 0x3F, 0x2C, 255)


def test_a_path_of_another_kind_is_refused() -> None:
    """What the drawing does not know is told, not left out."""
    svg = '<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0L9 9" stroke="#000000"/></svg>'
    with pytest.raises(ValueError, match="not made of M and c"):
        icon_pixels(svg)
