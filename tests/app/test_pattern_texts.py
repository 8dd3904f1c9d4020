"""The text of a pattern comes from a file, or one sentence says why it does not."""

from __future__ import annotations

import io
import random
import zlib
from typing import TYPE_CHECKING

import pytest
from pypdf import PdfReader, PdfWriter
from reportlab.pdfgen.canvas import Canvas

from app.command_line import main
from app.pieces.pattern_texts import Unreadable, pattern_text
from app.pieces.take_in import Answers, TakenIn, free_title, keep, take_in

if TYPE_CHECKING:
    from pathlib import Path

TIE = ("Hut tie", "Gauge: 20 sts and 28 rows to 10 cm", "Cast on 4 sts.", "Row 1: k to end.")


def a_pdf(*pages: tuple[str, ...]) -> bytes:
    """Return a PDF with these lines on its pages."""
    out = io.BytesIO()
    canvas = Canvas(out)
    for page in pages:
        for number, line in enumerate(page):
            canvas.drawString(72, 760 - 16 * number, line)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def with_stream(operators: bytes, form: bytes = b"") -> bytes:
    """Return a PDF by hand, whose one page has this content and can draw one form."""
    drawn = b"/Resources << /Font << /F1 5 0 R >> /XObject << /X 6 0 R >> >>"
    squeezed = zlib.compress(operators)
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 600 800] /Contents 4 0 R %s >>" % drawn,
        b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(squeezed), squeezed),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
        b"<< /Type /XObject /Subtype /Form /BBox [0 0 9 9] %s /Length %d >>\nstream\n%s\nendstream"
        % (drawn, len(form), form),
    ]
    out = b"%PDF-1.7\n"
    places = []
    for number, body in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = len(out)
    rows = b"".join(b"%010d 00000 n \n" % place for place in places)
    head = b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    end = b"trailer << /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF" % (len(objects) + 1, table)
    return out + head + rows + end


def refusal(tmp_path: Path, content: bytes) -> str:
    """Return the sentence with which a file of these bytes is refused."""
    file = tmp_path / "it.pdf"
    file.write_bytes(content)
    found = pattern_text(file)
    assert isinstance(found, Unreadable)
    assert found.sentence.endswith(".")
    return found.sentence


def test_a_pdf_with_text_is_taken_in(tmp_path: Path) -> None:
    """Title, gauge and rows come out of a PDF as they come out of a text."""
    file = tmp_path / "tie.pdf"
    file.write_bytes(a_pdf(TIE, ("Row 2: p to end.", "BO all sts.")))
    text = pattern_text(file)
    assert isinstance(text, str)
    taken = take_in(text)
    assert isinstance(taken, TakenIn)
    assert (taken.title, taken.asks, taken.right) == ("Hut tie", (), True)
    assert [line.counts for line in taken.pattern.lines] == ["4", "4", "4", "0"]


def test_a_locked_pdf_says_so(tmp_path: Path) -> None:
    """A PDF behind a password gives no text; one that only forbids copying is read."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(a_pdf(TIE))))
    writer.encrypt("secret", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    assert "password" in refusal(tmp_path, out.getvalue())
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(a_pdf(TIE))))
    writer.encrypt("", "owner", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    file = tmp_path / "open.pdf"
    file.write_bytes(out.getvalue())
    assert "Hut tie" in str(pattern_text(file))


def test_pictures_of_pages_are_told(tmp_path: Path) -> None:
    """A scanned PDF has no text, and one sentence says what to do."""
    assert "pictures of pages and no text" in refusal(tmp_path, a_pdf(()))


def test_five_hundred_pages_are_refused(tmp_path: Path) -> None:
    """A whole book is not read: the pages of the pattern are asked for."""
    assert "500 pages" in refusal(tmp_path, a_pdf(*[TIE] * 500))


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (with_stream(b"BT /F1 9 Tf (k) Tj ET " * 150_000), "holds more|damaged"),
        (with_stream(b"/X Do " * 10, b"/X Do " * 10), "no text|holds more|damaged"),
        (with_stream(b" " * 60_000_000), "no text|holds more|damaged"),
        (a_pdf(TIE)[:700], "no text|damaged"),
        (b"%PDF-1.7 and nothing else", "damaged"),
        (b"%PDF-1.7\n" + b"[" * 200_000, "damaged"),
    ],
)
def test_hostile_files_end_in_a_sentence(tmp_path: Path, content: bytes, why: str) -> None:
    """Endless operators, a form that draws itself, a bomb, half a file: each is refused."""
    assert any(one in refusal(tmp_path, content) for one in why.split("|"))


def test_damaged_bytes_never_break_it(tmp_path: Path) -> None:
    """Whatever bytes of a PDF are changed, text or a sentence comes of it."""
    chance = random.Random(16)
    whole = a_pdf(TIE)
    file = tmp_path / "odd.pdf"
    for _ in range(60):
        odd = bytearray(whole)
        for _ in range(chance.randint(1, 30)):
            odd[chance.randrange(8, len(odd))] = chance.randrange(256)
        file.write_bytes(bytes(odd))
        assert isinstance(pattern_text(file), str | Unreadable)


def test_other_files_are_told_apart(tmp_path: Path) -> None:
    """A picture is no text, a folder is no file, and neither are lines of noughts."""
    picture = tmp_path / "a.png"
    picture.write_bytes(b"\x89PNG\r\n\xff\xfe\x00")
    assert "neither a text" in str(pattern_text(picture))
    assert isinstance(pattern_text(tmp_path), Unreadable)
    assert isinstance(take_in("\x00" * 10), Unreadable)


@pytest.mark.parametrize("text", ["", " \n\t ", "Good morning", "k" * 2_000_000, "\n" * 2_000_000])
def test_what_is_no_pattern_is_a_sentence(text: str) -> None:
    """Nothing, no row, two million letters: one sentence each."""
    assert isinstance(take_in(text), Unreadable)


def test_our_own_file_is_kept_as_it_is() -> None:
    """A pattern file is taken in letter by letter, with its lines marked."""
    text = '# mine\ntitle = "Tie"\ncast_on = 4\nrows = ["Row 1: k to end"]\n'
    taken = take_in(text)
    assert isinstance(taken, TakenIn)
    assert (taken.own, taken.title, taken.pattern.text) == (True, "Tie", text)


def test_the_same_title_twice_keeps_the_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second is not written over the first; a free title is known."""
    monkeypatch.setattr("app.resources.data_folder", lambda: tmp_path)
    taken = take_in("\n".join(TIE))
    assert isinstance(taken, TakenIn)
    kept = keep(taken)
    assert not isinstance(kept, Unreadable)
    assert isinstance(keep(taken), Unreadable)
    assert free_title("Hut tie") == "Hut tie 2"
    other = take_in("\n".join(TIE), Answers(title=free_title("Hut tie")))
    assert isinstance(other, TakenIn)
    assert keep(other) == kept.with_name("hut-tie-2.toml")


def test_the_command_takes_a_pdf(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`walesong take FILE.pdf` writes the pattern file; a scan is refused with its sentence."""
    file, to = tmp_path / "tie.pdf", tmp_path / "tie.toml"
    file.write_bytes(a_pdf(TIE))
    assert main(["take", str(file), "--to", str(to)]) == 0
    assert 'title = "Hut tie"' in to.read_text(encoding="utf-8")
    file.write_bytes(a_pdf(()))
    assert main(["take", str(file), "--to", str(to), "--replace"]) == 3
    assert "pictures of pages" in capsys.readouterr().err
