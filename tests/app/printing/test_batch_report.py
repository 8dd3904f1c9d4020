"""The report on pieces that are to be alike: HTML, PDF and lines for a table program."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pypdf
import pytest

from app.command_line import main
from app.printing.piece_plots import band_plot
from app.printing.shapes import Area, Dot
from app.session.demo_order import demo_order
from engine.journal.sqlite import SqliteJournal

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """Return a journal with the demo's order in it."""
    path = tmp_path / "demo.walesong"
    pieces, book = demo_order(datetime(2026, 2, 1, 12, tzinfo=UTC))
    with SqliteJournal.open(path) as journal:
        journal.append(pieces)
        journal.append(book, brought=True)
    return path


def written(demo: Path, name: str) -> bytes:
    """Return the report of that name."""
    to = demo.with_name(name)
    assert main(["batch", "--journal", str(demo), "--to", str(to)]) == 0
    return to.read_bytes()


class Page(HTMLParser):
    """What is on a page: its words, its tables' rows and its plots' descriptions."""

    def __init__(self) -> None:
        """Begin with nothing."""
        super().__init__()
        self.words: list[str] = []
        self.tags: list[str] = []
        self.fetched: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Count the tag, and what it would fetch."""
        self.tags.append(tag)
        self.fetched += [name for name, _ in attrs if name in {"src", "href"}]

    def handle_data(self, data: str) -> None:
        """Keep the words."""
        self.words.append(data)


def test_the_page_says_what_is_odd_and_draws_it(demo: Path) -> None:
    """Order, odd piece, tables and a described plot a trait; no script, nothing fetched."""
    page = Page()
    page.feed(written(demo, "report.html").decode())
    words = " ".join(page.words)
    for told in (
        "Sleeves for the hut: 60 pieces ordered and 6 spares.",
        "Bottle sleeve 31 (the guide): 2 rows more (52 for 50)",
        "Length of 6 pieces, 17.90 cm to 19.40 cm; odd: 31 19.40 cm.",
        "NIST/SEMATECH e-Handbook 6.3.2.2",
        "Ready at this pace",
    ):
        assert told in words
    assert page.tags.count("tr") == 4 + 1 + 31 + 4, "lines of the order, pieces, and their heads"
    # Four plots a batch, and of the mug sleeves a chart with its ranges of four things.
    assert page.tags.count("svg") == 4 * 4 + 2 * 4
    assert "script" not in page.tags
    assert page.fetched == []


def test_the_pdf_has_the_same_words_and_is_the_same_again(demo: Path) -> None:
    """Read by another library the odd piece is in it; it is made again byte for byte."""
    content = written(demo, "report.pdf")
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages)
    assert "Bottle sleeve 31 (the guide)" in text
    assert "new needle at row 30: 5 mm" in " ".join(text.split())


def test_the_lines_hold_plain_numbers(demo: Path) -> None:
    """A line a piece, read by the csv module: centimetres and grams without their units."""
    lines = list(csv.DictReader(io.StringIO(written(demo, "report.csv").decode())))
    assert len(lines) == 31
    odd = [line for line in lines if line["odd"]]
    assert [(one["number"], one["rows"]) for one in odd] == [("31", "52")]
    assert float(odd[0]["length_cm"]) == pytest.approx(19.4)
    assert odd[0]["needles"] == "4.5 mm from row 1; 5 mm from row 30"
    assert all(float(line["weight_g"]) > 10 for line in lines)


def test_what_cannot_be_written_is_said(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Another ending, no folder, a file that is there, no piece done: nothing is written."""
    journal = ["batch", "--journal", str(demo)]
    assert main([*journal, "--to", str(tmp_path / "report.doc")]) == 2
    assert main([*journal, "--to", str(tmp_path / "nowhere" / "report.html")]) == 3
    there = tmp_path / "report.html"
    there.write_text("mine", encoding="utf-8")
    assert main([*journal, "--to", str(there)]) == 3
    assert there.read_text(encoding="utf-8") == "mine"
    empty = tmp_path / "empty.walesong"
    assert main(["order", "--journal", str(empty), "begin", "The inn"]) == 0
    assert main(["order", "--journal", str(empty), "add", "3", "Mug sleeve"]) == 0
    assert main(["batch", "--journal", str(empty), "--to", str(tmp_path / "e.html")]) == 1
    assert "no piece is off the needles yet" in capsys.readouterr().err


def test_a_plot_shows_the_band_and_marks_the_odd_one() -> None:
    """The area spans the tolerance, dots within it are filled, the odd one is a ring outside."""
    points = [("1", 8.0, False), ("2", 8.3, False), ("3", 9.0, True)]
    drawing = band_plot("Length", points, (7.5, 8.0, 8.5), lambda cm: f"{cm:.1f} cm")
    (area,) = [one for one in drawing.shapes if isinstance(one, Area)]
    low, high = max(y for _, y in area.points), min(y for _, y in area.points)
    dots = [one for one in drawing.shapes if isinstance(one, Dot)]
    assert [high <= dot.y <= low for dot in dots] == [True, True, False]
    assert [dot.x for dot in dots] == sorted(dot.x for dot in dots)
    assert dots[2].fill != dots[0].fill
    assert drawing.describes == "Length of 3 pieces, 8.0 cm to 9.0 cm; odd: 3 9.0 cm."
