"""The theme: every colour pair can be read in every theme, and bad files are refused."""

from __future__ import annotations

import pytest

from app import resources
from app.display.theme import (
    AT_LEAST_SIGN,
    AT_LEAST_TEXT,
    Colour,
    ThemeError,
    contrast,
    read_colour,
    read_theme,
)

THEME = read_theme(resources.text("shared/theme.toml"))

# Ratios printed in the W3C's own techniques and understanding documents for WCAG 2, or worked out
# by its formula with exact fractions: foreground, background, ratio.
PUBLISHED = [
    ("#000000", "#FFFFFF", 21.0),
    ("#FFFF00", "#000000", 19.5560),
    ("#0000FF", "#FFFFFF", 8.5925),
    ("#595959", "#FFFFFF", 7.0047),
    ("#5A5A5A", "#FFFFFF", 6.8969),
    ("#E5E5E5", "#6221EA", 5.6994),
    ("#767676", "#FFFFFF", 4.5422),
    ("#777777", "#FFFFFF", 4.4781),
    ("#FF0000", "#FFFFFF", 3.9985),
    ("#FF3838", "#FFFFFF", 3.5746),
    ("#E3660E", "#FFFFFF", 3.4019),
    ("#949494", "#FFFFFF", 3.0335),
    ("#959595", "#FFFFFF", 2.9953),
    ("#9D9D9D", "#FFFFFF", 2.7120),
    ("#FFF000", "#FFFFFF", 1.1854),
]


@pytest.mark.parametrize(("fore", "back", "ratio"), PUBLISHED)
def test_contrast_is_the_published_one(fore: str, back: str, ratio: float) -> None:
    """The contrast formula gives the ratios of WCAG 2 to four digits, whichever comes first."""
    assert contrast(read_colour(fore), read_colour(back)) == pytest.approx(ratio, abs=6e-5)
    assert contrast(read_colour(back), read_colour(fore)) == pytest.approx(ratio, abs=6e-5)


@pytest.mark.parametrize("name", THEME.palettes)
def test_every_text_can_be_read_on_its_ground(name: str) -> None:
    """In every theme each text role keeps 7:1, each sign 3:1, against each of its grounds."""
    palette = THEME.palettes[name]
    for pairs, least in ((THEME.text_pairs, AT_LEAST_TEXT), (THEME.sign_pairs, AT_LEAST_SIGN)):
        for role, ground in pairs:
            ratio = contrast(palette.colour(role), palette.colour(ground))
            assert ratio >= least, (name, role, ground, ratio)


def test_every_text_role_stands_on_some_ground() -> None:
    """No colour for text escapes the check because the file forgot to pair it."""
    texts = {"ink", "soft", "good", "alert"}
    texts |= {role for role in dir(THEME.palettes["light"]) if role.endswith("_ink")}
    assert texts == {role for role, _ in THEME.text_pairs}


def test_a_piece_keeps_its_wool() -> None:
    """The same piece is always drawn in the same wool, and pieces use more than one wool."""
    wools = {THEME.wool_for(f"piece {number}") for number in range(40)}
    assert THEME.wool_for("piece 3") == THEME.wool_for("piece 3")
    assert len(wools) > 1


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('\nink = "#2B201A"', "", "lacks 'ink'"),
        ('\nink = "#2B201A"', '\nink = "brown"', "not a colour"),
        ("numeral = 20.0", "numeral = -1", "above zero"),
        ("numeral = 20.0", "", "lacks 'numeral'"),
        ("[wools]", "[wool]", "lacks the table 'wools'"),
        ("\n[pairs]\n", "\npairs\n", "not TOML"),
    ],
)
def test_a_wrong_theme_is_refused_with_a_sentence(old: str, new: str, sentence: str) -> None:
    """A theme file with something missing or wrong is refused, and the sentence says what."""
    text = resources.text("shared/theme.toml")
    assert old in text
    with pytest.raises(ThemeError, match=sentence):
        read_theme(text.replace(old, new, 1))


def test_colours_go_both_ways() -> None:
    """A colour is read and written without loss."""
    assert read_colour("#20463E") == Colour(0x20, 0x46, 0x3E)
    assert read_colour("#20463E").hex == "#20463e"


def test_several_yarns_are_unlike_in_lightness() -> None:
    """The second yarn of a piece differs from the first by more than its hue; none comes twice."""
    for first in THEME.wools.values():
        wools = THEME.wools_with(first, 3)
        assert wools[0] == first
        assert len(set(wools)) == 3
        assert contrast(wools[0], wools[1]) >= 1.5
    many = THEME.wools_with(first, 9)
    assert many[6:] == many[:3], "more yarns than wools take them in turn"
