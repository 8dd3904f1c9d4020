"""The text of a pattern that she has as a file: plain text, or a PDF that has text."""

from __future__ import annotations

import io
import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.reading import text_of
from engine.limits import (
    LARGEST_PDF,
    LONGEST_TEXT,
    MOST_PAGES,
    MOST_SIGNS_OF_PDF,
    MOST_STEPS_OF_PDF,
)

if TYPE_CHECKING:
    from pathlib import Path

_PDF = b"%PDF-"
_WHERE_PDF_BEGINS = 1024
"""Readers look for the beginning within so many bytes (ISO 32000, annex H of PDF 1.7)."""


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Why a file gives no text, in one sentence with what can be done."""

    sentence: str


class _TooMuchError(Exception):
    """A page asks for more signs to be placed than any pattern has."""


def pattern_text(path: Path) -> str | Unreadable:
    """Return the text of a file, whatever it is called; PDF is known by how it begins."""
    try:
        with path.open("rb") as file:
            beginning = file.read(_WHERE_PDF_BEGINS)
            if _PDF in beginning:
                content = beginning + file.read(LARGEST_PDF + 1)
                return _text_of_pdf(path.name, content)
        return text_of(path)
    except IsADirectoryError:
        return Unreadable(f"{path} is a folder; name a file in it.")
    except OSError as error:
        return Unreadable(f"{path} cannot be opened: {error.strerror or error}.")
    except UnicodeDecodeError:
        return Unreadable(f"{path} is neither a text in UTF-8 nor a PDF; save it as plain text.")


def _text_of_pdf(name: str, content: bytes) -> str | Unreadable:
    if len(content) > LARGEST_PDF:
        megabytes = LARGEST_PDF // 1_000_000
        return Unreadable(f"{name} is larger than {megabytes} MB; print its text to a smaller PDF.")
    from pypdf import apply_configuration  # noqa: PLC0415 (not needed at every start)
    from pypdf.errors import DependencyError  # noqa: PLC0415

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what it mends in a file is its own
    try:
        with apply_configuration(
            maximum_declared_stream_length=LARGEST_PDF,
            array_based_stream_maximum_output_length=MOST_SIGNS_OF_PDF,
            lzw_maximum_output_length=MOST_SIGNS_OF_PDF,
            run_length_maximum_output_length=MOST_SIGNS_OF_PDF,
            zlib_maximum_output_length=MOST_SIGNS_OF_PDF,
            stream_parsing_work_maximum_count=MOST_STEPS_OF_PDF,
            jbig2dec_binary=None,
        ):
            text = _read_within_limits(name, content)
    except DependencyError:
        return Unreadable(f"{name} is locked in a way that is not known here; save a copy without.")
    except _TooMuchError:
        return Unreadable(f"{name} holds more than any pattern; copy its text into a plain file.")
    except (MemoryError, RecursionError, Exception):  # noqa: BLE001 (a damaged file breaks anything)
        return Unreadable(f"{name} is damaged, and its text cannot be read; copy it as plain text.")
    if isinstance(text, Unreadable):
        return text
    if not any(letter.isalnum() for letter in text):
        return Unreadable(f"{name} has pictures of pages and no text; type it, or have it read.")
    return text


def _read_within_limits(name: str, content: bytes) -> str | Unreadable:
    """Return the text of all pages; raises _TooMuchError where it asks for too much work."""
    from pypdf import PdfReader  # noqa: PLC0415

    reader = PdfReader(io.BytesIO(content))
    if reader.is_encrypted and not reader.decrypt(""):
        return Unreadable(f"{name} is locked with a password; save a copy without it.")
    number = len(reader.pages)
    if number > MOST_PAGES:
        sentence = f"{name} has {number} pages, and {MOST_PAGES} are read at most"
        return Unreadable(f"{sentence}; save the pages of the pattern as a PDF of their own.")
    left = MOST_STEPS_OF_PDF
    length = 0

    def count(*_of_operand: object) -> None:
        nonlocal left
        left -= 1
        if left < 0:
            raise _TooMuchError

    pages: list[str] = []
    for page in reader.pages:
        text = page.extract_text(visitor_operand_before=count)
        length += len(text)
        if length > LONGEST_TEXT:
            raise _TooMuchError
        pages.append(text.replace("\r\n", "\n").replace("\r", "\n").replace("\x00", ""))
    return "\n\n".join(pages)
