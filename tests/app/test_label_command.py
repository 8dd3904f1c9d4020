"""`walesong label`: what stands on a label, that it fits, and what is told where it does not."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest
from pypdf import PdfReader

from app import resources
from app.command_line import main
from app.printing.labels import SIZES, Label, initials, read_sheets, size_of_type
from app.session.demo_order import demo_order
from engine.journal.sqlite import SqliteJournal
from tests.app.test_order_command import NOW, told

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """Return a journal with the hut's order in it."""
    path = tmp_path / "journal.walesong"
    pieces, order = demo_order(NOW)
    with SqliteJournal.open(path) as journal:
        journal.append([*pieces, *order])
    return path


def labels(path: Path, to: Path, *words: str, code: int = 0) -> None:
    """Write labels; the command has to end with the code."""
    assert main(["label", "--journal", str(path), "--to", str(to), *words]) == code


class Text(HTMLParser):
    """The text of each label on a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.labels: list[str] = []
        self.places: list[str] = []
        self._inside = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin a label."""
        if tag == "section":
            self._inside = True
            self.labels.append("")
            self.places.append(dict(attrs)["style"] or "")

    def handle_endtag(self, tag: str) -> None:
        """End it."""
        self._inside = self._inside and tag != "section"

    def handle_data(self, data: str) -> None:
        """Take in its text."""
        if self._inside:
            self.labels[-1] += data + "\n"


def test_a_label_says_what_the_trade_lists(demo: Path, tmp_path: Path) -> None:
    """Number, item, washed size in both units, fibre, lot, needle, initials, care, day, caution."""
    labels(demo, tmp_path / "l.html", "1", "--fibre", "100 % wool", "--caution", "Mind the handle.")
    (one,) = Text((tmp_path / "l.html").read_text("utf-8")).labels
    for what in ("01/66", "Mug sleeve, grey", "100 % wool", "Dye lot 4107", "needle 4.5 mm", "by W",
                 "Wash by hand", "Dry flat", "24 to 48 hours", "felt it", "no potholder",
                 "Mind the handle."):  # fmt: skip
        assert what in one, what
    assert "cm, 9" in one
    assert "in wide" in one


def test_a_lantern_sleeve_is_never_without_its_caution(demo: Path, tmp_path: Path) -> None:
    """The caution of the pattern of that name stands on the label, unasked."""
    with SqliteJournal.open_to_read(demo) as journal:
        from app.pieces.orders import order_called  # noqa: PLC0415 (only here)

        state = order_called(journal, None)
    lanterns = next(line for line in state.lines if "antern" in line.item)
    labels(demo, tmp_path / "l.html", str(lanterns.first))
    (one,) = Text((tmp_path / "l.html").read_text("utf-8")).labels
    assert "never on flame" in one


def test_what_is_not_known_is_left_to_be_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A piece of which nothing was said gets lines for a pen, and nothing made up."""
    path = tmp_path / "j.walesong"
    told(path, "begin", "The hut")
    told(path, "add", "2", "Mitten")
    labels(path, tmp_path / "l.html", "1")
    (one,) = Text((tmp_path / "l.html").read_text("utf-8")).labels
    assert "Washed: ___" in one
    assert "Fibre: ___" in one
    assert "Care: ___" in one
    assert "Dye lot ____" in one
    said = capsys.readouterr()
    assert "left to be written by hand" in said.err
    assert "Check what your country requires" in said.out


def test_labels_lie_on_their_sheet(demo: Path, tmp_path: Path) -> None:
    """Used-up labels are skipped, a full sheet is followed by another, in HTML and in PDF."""
    sheets = read_sheets(resources.text("shared/tables/label_sheets.toml"))
    for name, sheet in sheets.items():
        skip = str(min(3, sheet.labels - 1))
        for form in ("html", "pdf"):
            to = tmp_path / f"{name}.{form}"
            labels(demo, to, "1-9", "--fibre", "wool", "--sheet", name, "--skip", skip)
        page = (tmp_path / f"{name}.html").read_text("utf-8")
        text = Text(page)
        assert len(text.labels) == 9
        left, top = sheet.place(int(skip))
        assert text.places[0] == f"left:{left:g}mm;top:{top:g}mm"
        pages = -(-(9 + int(skip)) // sheet.labels)
        assert page.count('class="sheet"') == pages
        reader = PdfReader(tmp_path / f"{name}.pdf")
        assert len(reader.pages) == pages
        together = "".join(one.extract_text() for one in reader.pages)
        assert all(f"{number:02d}/66" in together for number in range(1, 10))
        box = reader.pages[0].mediabox
        assert abs(float(box.width) - sheet.paper[0] * 72 / 25.4) < 0.1


def test_in_the_pdf_nothing_leaves_its_label(demo: Path, tmp_path: Path) -> None:
    """Every line of a full label, wrapped by the font's own widths, lies on the label."""
    sheets = read_sheets(resources.text("shared/tables/label_sheets.toml"))
    for name in ("a4-14", "letter-10", "page"):
        to = tmp_path / f"{name}.pdf"
        labels(demo, to, "1", "--fibre", "wool", "--sheet", name)
        lowest: list[float] = []

        def visit(text: str, _: object, matrix: list[float], *__: object) -> None:
            if text.strip():
                lowest.append(matrix[5])  # noqa: B023 (used up within the loop)

        PdfReader(to).pages[0].extract_text(visitor_text=visit)
        sheet = sheets[name]
        foot = (sheet.paper[1] - sheet.top - sheet.high) * 72 / 25.4
        assert min(lowest) >= foot, name


def test_too_much_for_a_label_is_refused(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Type is never smaller than can be read: then one sentence, and no file."""
    words = ("1", "--fibre", "wool", "--sheet", "a4-14", "--caution", "Take care of it. " * 60)
    labels(demo, tmp_path / "l.html", *words, code=1)
    assert "does not fit on a label of a4-14; take a larger one" in capsys.readouterr().err
    assert not (tmp_path / "l.html").exists()
    sheet = read_sheets(resources.text("shared/tables/label_sheets.toml"))["a4-8"]
    assert size_of_type(sheet, [Label("1/1 Cap", ("wool",))]) == SIZES[0]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("99",), "has no piece 99"),
        (("1", "--sheet", "a3"), "there is no sheet a3"),
        (("1", "--skip", "8"), "has 8 labels; skip fewer"),
        (("1", "--order", "no"), "There is no order 'no'"),
    ],
)
def test_what_cannot_be_is_said(
    demo: Path,
    tmp_path: Path,
    words: tuple[str, ...],
    sentence: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A piece, sheet or order that is not there, or more skipped than a sheet has: code 2."""
    labels(demo, tmp_path / "l.html", *words, code=2)
    assert sentence in capsys.readouterr().err
    labels(demo, tmp_path / "l.txt", "1", code=2)


def test_initials() -> None:
    """Of a name its capitals; small words do not count."""
    assert [initials(one) for one in ("the cook", "Anna of the hut", "anna berg", "")] == [
        "C", "AH", "AB", ""]  # fmt: skip


def test_a_sheet_that_is_none_is_refused() -> None:
    """Labels that lie beyond the paper are a fault of the file, not a spoiled sheet."""
    text = resources.text("shared/tables/label_sheets.toml").replace("rows = 4", "rows = 5")
    with pytest.raises(ValueError, match="beyond its paper"):
        read_sheets(text)
