"""What reading grows with: texts and journals of one, two, four and eight times the size.

    python -m bench.reading_bench

The processor's time, the least of a few tries, so that a busy machine changes little; per size and
beside it how many times that of a size half as large. Twice the size should cost about twice the
time; much more means that somebody's long file stops the program.
"""

from __future__ import annotations

import time
from functools import partial
from typing import TYPE_CHECKING

from app import language
from app.session.settings import read_settings
from bench.journal_bench import piece_of
from engine.history import fold
from engine.journal.exchange import from_lines, take_in, to_lines
from engine.journal.memory import MemoryJournal
from engine.limits import LONGEST_OWN_TEXT, MOST_VALUES_IN_RECORD
from engine.toml_text import TomlTextError, toml_of
from speech.words.phrases import PhraseError, with_own_phrases

if TYPE_CHECKING:
    from collections.abc import Callable

_TRIES = 3
_TIMES = (1, 2, 4, 8)


def main() -> None:
    """Print a line for everything that is read."""
    heads = "".join(f"{f'x {times}':>12}{'':>7}" for times in _TIMES)
    print(f"{'processor ms':<40}{heads}")
    for name, made in _READ.items():
        cells, before = "", 0.0
        for times in _TIMES:
            took = _least(made(times))
            cells += f"{1000 * took:>12.1f}" + (f"{took / before:>6.1f}x" if before else " " * 7)
            before = took
        print(f"{name:<40}{cells}", flush=True)


def _least(action: Callable[[], object]) -> float:
    found = []
    for _ in range(_TRIES):
        begun = time.process_time()
        action()
        found.append(time.process_time() - begun)
    return max(min(found), 1e-6)


def _toml(text: str) -> Callable[[], object]:
    return partial(_tried, partial(toml_of, text))


def _tried(action: Callable[[], object]) -> None:
    try:
        action()
    except (TomlTextError, PhraseError, ValueError):
        return


def _filled(unit: str, times: int, end: str = "") -> str:
    room = (LONGEST_OWN_TEXT - 100) * times // max(_TIMES) - len(end)
    return unit * (room // len(unit)) + end


def _keys(times: int) -> str:
    room = LONGEST_OWN_TEXT * times // max(_TIMES)
    return "".join(f"k{number} = {number}\n" for number in range(room // 16))


def _tables(times: int) -> str:
    room = LONGEST_OWN_TEXT * times // max(_TIMES)
    return "".join(f"[t.a{number}]\nsay = ['b']\n" for number in range(room // 24))


def _phrases(times: int) -> Callable[[], object]:
    text = "[commands.undo]\nsay = [" + _filled('"wool gone", ', times) + "]\n"
    return partial(_tried, partial(with_own_phrases, language.shipped_phrases(), text))


def _journal(times: int) -> list[bytes]:
    return list(to_lines(piece_of(500 * times)))


def _line(times: int) -> bytes:
    return b'{"a":[' + b"1," * (MOST_VALUES_IN_RECORD * times // max(_TIMES) - 4) + b"1]}\n"


def _folded(times: int) -> Callable[[], object]:
    return partial(fold, piece_of(500 * times))


def _taken_in(times: int) -> Callable[[], object]:
    records = piece_of(500 * times)
    return lambda: take_in(MemoryJournal(), records)


def _bad_lines(line: bytes) -> Callable[[], object]:
    heading = next(iter(to_lines(())))
    return partial(from_lines, [heading, *([line] * 50)])


_READ: dict[str, Callable[[int], Callable[[], object]]] = {
    "lines of JSON, 500 records": lambda times: partial(from_lines, _journal(times)),
    "lines: many values": lambda times: _bad_lines(_line(times)),
    "lines: one long text": lambda times: _bad_lines(b'{"a":"' + b"x" * 20_000 * times + b'"}\n'),
    "lines: many escapes": lambda times: _bad_lines(b'{"a":"' + b'\\"' * 10_000 * times + b'"}\n'),
    "lines: a text without end": lambda times: _bad_lines(b'{"a":"' + b'\\"' * 10_000 * times),
    "lines: open brackets": lambda times: _bad_lines(b"[" * 10_000 * times + b"\n"),
    "lines: not UTF-8": lambda times: _bad_lines(b"\xff" * 20_000 * times + b"\n"),
    "folding, 500 records": _folded,
    "taking in, 500 records": _taken_in,
    "TOML: keys": lambda times: _toml(_keys(times)),
    "TOML: tables": lambda times: _toml(_tables(times)),
    "TOML: one long text": lambda times: _toml('a = "' + _filled("x", times, '"')),
    "TOML: texts without end": lambda times: _toml(_filled('"""', times)),
    "TOML: quotes": lambda times: _toml(_filled('"', times)),
    "TOML: escapes": lambda times: _toml('a = "' + _filled('\\"', times)),
    "TOML: quotes in a long text": lambda times: _toml('a = """' + _filled('x""', times)),
    "TOML: dots": lambda times: _toml(_filled("a.", times, "a = 1")),
    "TOML: dots and spaces": lambda times: _toml(_filled(". ", times, "a = 1")),
    "TOML: spaces": lambda times: _toml("a" + _filled(" ", times, "= 1")),
    "TOML: brackets": lambda times: _toml("a = " + _filled("[", times)),
    "TOML: a long list": lambda times: _toml("a = [" + _filled("1,", times, "]")),
    "TOML: digits": lambda times: _toml("a = " + _filled("9", times)),
    "TOML: comments": lambda times: _toml(_filled("# x\n", times)),
    "TOML: empty lines": lambda times: _toml(_filled("\n", times)),
    "TOML: an inline table": lambda times: _toml("a = {" + _filled("b = 1, ", times, "}")),
    "her phrases": _phrases,
    "her settings": lambda times: partial(read_settings, _keys(times)),
}


if __name__ == "__main__":
    main()
