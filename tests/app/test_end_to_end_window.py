"""The window as a user has it: a process of its own on a display, real keys, a real microphone."""

from __future__ import annotations

import os
import signal
from typing import TYPE_CHECKING

import numpy as np
import pytest

from app.pieces.journal_files import read_journal
from engine.events import RowsWorked
from engine.history import fold
from tests.product import PRACTICE, bare, lines, run, start
from tests.sessions import payloads, script
from tests.virtual_display import VirtualDisplay, virtual_display, wait_until
from tests.virtual_microphone import MISSING, virtual_microphone

if TYPE_CHECKING:
    import subprocess
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from numpy.typing import NDArray

pytestmark = pytest.mark.display

BY_KEYS = {
    "row done": ["space"],
    "two rows done": ["F3", "2", "Return"],
    "three rows done": ["F3", "3", "Return"],
    "four rows done": ["F3", "4", "Return"],
    "five rows done": ["F3", "5", "Return"],
    "six rows done": ["F3", "6", "Return"],
    "what comes next": ["Down"],
    "which row now": ["Up"],
    "how far left": ["l"],
    "measure three and a half centimetres": ["m", "3", "period", "5", "Return"],
    "measure six and a half centimetres": ["m", "6", "period", "5", "Return"],
    "i count forty nine stitches": ["c", "4", "9", "Return"],
    "i count fifty stitches": ["c", "5", "0", "Return"],
    "take that back": ["BackSpace"],
    "ripped back two rows": ["b", "2", "Return"],
    "that felt tight": ["F6"],
    "yes": ["y"],
}
"""What is pressed for each line that the knitter speaks in the practice recording."""


@pytest.fixture(scope="module")
def display() -> Iterator[VirtualDisplay]:
    """Return a display that nobody sees."""
    with virtual_display() as running:
        yield running


@pytest.fixture
def environment(product_environment: dict[str, str], display: VirtualDisplay) -> dict[str, str]:
    """Return the environment of somebody who sits in front of the display."""
    return display.environment(bare(product_environment))


@pytest.fixture
def journal(environment: Mapping[str, str], tmp_path: Path) -> Path:
    """Return a journal in which a mug sleeve has been cast on."""
    journal = tmp_path / "j.walesong"
    assert run("knit", "--typed", "--journal", journal, env=environment, typed="").returncode == 0
    return journal


def _drawn(picture: NDArray[np.uint8]) -> bool:
    """Tell whether a window is there with something on it."""
    return len(np.unique(picture.reshape(-1, 3), axis=0)) > 100


def _open(
    journal: Path, environment: Mapping[str, str], display: VirtualDisplay
) -> subprocess.Popen[str]:
    """Open the window and wait until the piece is shown."""
    walesong = start("--silent", "--journal", journal, env=environment)
    try:
        wait_until(lambda: _drawn(display.picture()), "the board is drawn")
        # The log of the journal is there as soon as the piece behind the window is open.
        wait_until(journal.with_name(f"{journal.name}-wal").exists, "the journal is open")
    except BaseException:
        walesong.kill()
        raise
    return walesong


def counted(journal: Path) -> list[int]:
    """Return how many rows each record of rows has, in their order."""
    worked = [one.event for one in read_journal(journal) if isinstance(one.event, RowsWorked)]
    return [event.last - event.first + 1 for event in worked]


def _wait_for_records(journal: Path, count: int) -> None:
    wait_until(lambda: len(read_journal(journal)) >= count, f"{count} records are written")


def _end(walesong: subprocess.Popen[str]) -> tuple[int, str]:
    """Wait for the end; return the exit code and what was said on standard error."""
    _, errors = walesong.communicate(timeout=200)
    return walesong.returncode, errors


def test_keys_do_what_typed_words_do(
    environment: Mapping[str, str], display: VirtualDisplay, journal: Path, tmp_path: Path
) -> None:
    """The whole practice piece is knitted by real keys: each is seen, and the journal is the same.

    SIGTERM then ends it in order.
    """
    typed_journal = tmp_path / "typed.walesong"
    said = [line.says for line in script() if line.by_knitter]
    arguments = ("knit", "--typed", "--json", "--journal", typed_journal)
    typed = lines(run(*arguments, env=environment, typed="\n".join(said)).stdout)
    expected = len(read_journal(journal))
    with _open(journal, environment, display) as walesong:
        try:
            before = display.picture()
            for words, answer in zip(said, typed, strict=True):
                display.press(*BY_KEYS[words])
                expected += len(answer["written"])
                _wait_for_records(journal, expected)
                before = display.changed_from(before)
            assert _drawn(before)
            walesong.send_signal(signal.SIGTERM)
            assert _end(walesong) == (0, "")
        finally:
            walesong.kill()
    by_keys, by_words = read_journal(journal), read_journal(typed_journal)
    assert payloads(by_keys) == payloads(by_words)
    assert {record.source.value for record in by_keys} == {"key"}


def test_escape_and_the_cross_in_the_corner(
    environment: Mapping[str, str], display: VirtualDisplay, journal: Path
) -> None:
    """Escape goes back to the board and never ends the work; the cross ends it, nothing lost."""
    with _open(journal, environment, display) as walesong:
        try:
            display.press("space")
            wait_until(lambda: fold(read_journal(journal)).done == 1, "the row is written")
            before = display.picture()
            display.press("F1")
            covered = display.changed_from(before)
            display.press("Escape")
            display.changed_from(covered)
            display.press("Escape", "Escape")
            display.press("space")
            wait_until(lambda: fold(read_journal(journal)).done == 2, "the next row is written")
            display.close_window()
            assert _end(walesong) == (0, "")
        finally:
            walesong.kill()
    assert fold(read_journal(journal)).done == 2
    assert not journal.with_name(f"{journal.name}-wal").exists(), "the journal was closed in order"


@pytest.mark.microphone
@pytest.mark.model
def test_rows_are_counted_by_voice_until_it_is_killed(
    product_environment: dict[str, str], display: VirtualDisplay, tmp_path: Path
) -> None:
    """Spoken into a real microphone, rows are counted, talk of others is not; a kill loses none."""
    if MISSING:
        pytest.skip(f"a virtual microphone needs {', '.join(MISSING)}")
    journal = tmp_path / "j.walesong"
    sound = PRACTICE.read_bytes()[44:]
    second = 16_000 * 2
    with virtual_microphone() as microphone:
        names = ("PULSE_SERVER", "XDG_RUNTIME_DIR")
        found = {**bare(product_environment), **{name: os.environ[name] for name in names}}
        environment = display.environment(found)
        with _open(journal, environment, display) as walesong:
            try:
                before = display.picture()
                # Until the model is loaded nothing is heard, so the first row is said until it is.
                said = 0
                while not fold(read_journal(journal)).done and said < 40:
                    said += 1
                    microphone.say(sound[: 3 * second])
                    wait_until(lambda: microphone.silent, "it is said")
                after = display.changed_from(before)
                assert (before != after).any(axis=2).mean() > 0.001
                microphone.say(sound[3 * second : round(10.2 * second)])
                wait_until(lambda: counted(journal)[-1:] == [3], "three rows are counted")
                wait_until(lambda: microphone.silent, "the cook has spoken")
                walesong.kill()
                _end(walesong)
            finally:
                walesong.kill()
    # What was said before may be heard late, but everything in its order and nothing twice.
    *ones, last = counted(journal)
    assert (set(ones), last) == ({1}, 3)
    assert 1 <= len(ones) <= said
    records = read_journal(journal)
    done = fold(records).done
    assert done == len(ones) + 3
    rows = [record for record in records if record.event.kind == "rows_worked"]
    assert {record.source.value for record in rows} == {"voice"}
    again = run("knit", "--typed", "--json", "--journal", journal, env=found, typed="row done")
    assert lines(again.stdout)[0]["done"] == done + 1
