"""The HTML page: well-formed, self-contained, readable, mirrored only in its pictures."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Final
from xml.etree import ElementTree as ET

import pytest

from app import resources
from app.printing.shapes import Words
from tests.app.printing.made_up import DEMO, SHEETS, composed, html

_VOID: Final = {"meta", "br", "hr", "img", "link", "input"}


class _Strict(HTMLParser):
    """Collects the words of a page and fails at a tag that closes nothing or is never closed."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.words: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in _VOID:
            self.open.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name in {"src", "href", "xlink:href", "data", "action"}:
                self.links.append(value or "")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in _VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"style", "svg"} & set(self.open):
            self.words.append(data)


def parsed(page: str) -> _Strict:
    """Return a page, parsed without forgiveness."""
    parser = _Strict()
    parser.feed(page)
    parser.close()
    assert parser.open == []
    return parser


def pictures(page: str) -> list[ET.Element]:
    """Return the drawings of a page, parsed as XML."""
    return [ET.fromstring(one) for one in re.findall(r"<svg.*?</svg>", page, re.DOTALL)]  # noqa: S314 (our own)


@pytest.mark.parametrize(("name", "size"), SHEETS)
def test_the_page_is_well_formed_and_needs_nothing_from_elsewhere(
    name: str, size: str | None
) -> None:
    """Tags close in order, ids are unique, links stay inside, and no address is named."""
    page = html(name, size)
    found = parsed(page)
    assert len(found.ids) == len(set(found.ids))
    assert all(link.startswith("#") and link[1:] in found.ids for link in found.links)
    outside = page.replace('xmlns="http://www.w3.org/2000/svg"', "")
    for sign in ("http", "url(", "@import", "<script", "<link", "<img"):
        assert sign not in outside


@pytest.mark.parametrize("name", [*DEMO, "vest", "lace"])
def test_every_picture_says_what_it_shows(name: str) -> None:
    """Each drawing is well-formed, named by its own title, and has a size."""
    drawings = pictures(html(name))
    assert drawings
    for drawing in drawings:
        title = drawing.find("{http://www.w3.org/2000/svg}title")
        assert title is not None
        assert title.text
        assert drawing.get("role") == "img"
        assert drawing.get("aria-labelledby") == title.get("id")
        assert drawing.get("width", "").endswith("mm")


def luminance(colour: str) -> float:
    """Return the relative luminance of "#rrggbb" by the formula of WCAG 2.2."""
    digits = colour.lstrip("#")
    digits = "".join(digit * 2 for digit in digits) if len(digits) == 3 else digits
    channels = []
    for at in (0, 2, 4):
        value = int(digits[at : at + 2], 16) / 255
        channels.append(value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4)
    return 0.2126 * channels[0] + 0.7152 * channels[1] + 0.0722 * channels[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours by the formula of WCAG 2.2."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_is_the_published_one() -> None:
    """Values printed in W3C's own documents: black on white 21, #0000ff 8.59, #595959 just 7."""
    assert contrast("#000", "#fff") == pytest.approx(21)
    assert contrast("#0000ff", "#ffffff") == pytest.approx(8.5925, abs=1e-4)
    assert contrast("#595959", "#ffffff") == pytest.approx(7.0047, abs=1e-4)


def test_text_is_dark_on_white_everywhere() -> None:
    """Every colour of text, in the page and in its drawings, has a contrast of 7 at least."""
    style = resources.text("shared/print/sheet.css")
    colours = re.findall(r"(?<![-\w])color: (#[0-9a-f]+)", style)
    assert len(colours) >= 3
    assert "background: #fff;" in style
    for colour in colours:
        assert contrast(colour, "#ffffff") >= 7
    seen = set()
    for name in (*DEMO, "vest", "lace"):
        for piece in composed(name).sheet.pieces:
            figures = [piece.schematic, piece.fabric, *(chart.figure for chart in piece.charts)]
            for figure in filter(None, figures):
                seen |= {one.ink for one in figure.drawing.shapes if isinstance(one, Words)}
    assert seen
    for ink in seen:
        assert contrast(ink, "#ffffff") >= 7


def test_sizes_of_type_follow_the_reader() -> None:
    """No type is set in fixed pixels, so that the browser's own text size enlarges all of it."""
    style = resources.text("shared/print/sheet.css")
    assert not re.search(r"font-size: *[\d.]+px", style)


def words_of(page: str) -> str:
    """Return the words of a page without those in pictures."""
    return " ".join(" ".join(parsed(page).words).split())


@pytest.mark.parametrize("name", DEMO)
def test_left_handers_get_mirrored_pictures_and_the_same_words(name: str) -> None:
    """Charts and pictures differ; the instructions and all other words are the same."""
    right, left = html(name), html(name, left_handed=True)
    assert [ET.tostring(one) for one in pictures(right)] != [
        ET.tostring(one) for one in pictures(left)
    ]
    sheet, other = composed(name).sheet, composed(name, left_handed=True).sheet
    assert [piece.parts for piece in sheet.pieces] == [piece.parts for piece in other.pieces]
    assert sheet.abbreviations == other.abbreviations
    changed = set(re.split(r"(?<=[.:]) ", words_of(left))) - set(
        re.split(r"(?<=[.:]) ", words_of(right))
    )
    about_hands = ("left-handed", "left to right", "same for both hands", "right to left")
    assert changed
    assert all(any(phrase in one for phrase in about_hands) for one in changed), changed


def test_text_of_a_pattern_cannot_break_the_page() -> None:
    """Signs that mean something in HTML are shown as they are."""
    page = html("lace")
    assert "<h1>Lace &amp; &lt;shaping&gt;</h1>" in page
    assert "<shaping>" not in page
