"""Settings and taught keys on the disk: what cannot be read is kept beside, never emptied."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.session.manner import Listening
from app.session.settings import Settings
from app.session.settings_file import keep_choices, keep_manner, read_choices

if TYPE_CHECKING:
    from pathlib import Path

KEYS = '[pedal]\n"280" = "row_done"\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a data folder with dark settings and one key that was taught."""
    monkeypatch.setattr(resources, "data_folder", lambda: tmp_path)
    assert keep_choices(Settings(palette="dark"), KEYS) == ""
    return tmp_path


def _spoil(file: Path) -> bytes:
    """Put one byte into a file that no text in UTF-8 has, and return what is there now."""
    content = file.read_bytes()[:-5] + b"\xff" + file.read_bytes()[-5:]
    file.write_bytes(content)
    return content


def test_what_is_whole_is_read_and_replaced(folder: Path) -> None:
    """Without damage the choices come back, and a change leaves nothing beside."""
    assert read_choices() == (Settings(palette="dark"), KEYS, "")
    assert keep_choices(Settings(), KEYS) == ""
    assert {file.name for file in folder.iterdir()} == {"settings.toml", "keys.toml"}


@pytest.mark.parametrize("name", ["settings", "keys"])
def test_one_bad_byte_empties_nothing(folder: Path, name: str) -> None:
    """The other file is read all the same; the next change keeps the bad one beside; it is told."""
    spoilt = _spoil(folder / f"{name}.toml")
    settings, keys, told = read_choices()
    assert settings.palette == ("light" if name == "settings" else "dark")
    assert keys == ("" if name == "keys" else KEYS)
    assert f'"{name}.toml" could not be read' in told
    assert f'"{name}.unreadable-1.toml" will keep' in told
    assert keep_choices(replace(settings, rate=175), keys) == ""
    assert (folder / f"{name}.unreadable-1.toml").read_bytes() == spoilt
    assert read_choices() == (replace(settings, rate=175), keys, "")


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("settings", "palette = dark\n"),
        ("settings", 'palette = "dark"\nsparkle = true\n'),
        ("settings", f"rate = {'9' * 5000}\n"),
        ("keys", "keys = 3\n"),
        ("keys", "[keys]\nq = \n"),
        ("keys", '[keys]\n"280" = "no such thing"\n'),
        ("keys", '[keys]\n"280" = ["row_done"]\n'),
        ("keys", f'[keys]\n"{"²"}" = "row_done"\n'),
    ],
)
def test_what_means_nothing_is_kept_beside_too(folder: Path, name: str, text: str) -> None:
    """A file that is text but not ours, or only partly, is not lost at the next change."""
    (folder / f"{name}.toml").write_text(text)
    settings, keys, told = read_choices()
    assert told
    assert keep_choices(settings, keys if name == "settings" else "") == ""
    assert (folder / f"{name}.unreadable-1.toml").read_text() == text


def test_every_bad_file_has_a_name_of_its_own(folder: Path) -> None:
    """Spoilt twice, both are kept, also when it was a word that changed the manner."""
    first = _spoil(folder / "settings.toml")
    keep_manner(replace(Settings().manner, listening=Listening.WORD))
    second = _spoil(folder / "settings.toml")
    keep_manner(replace(Settings().manner, listening=Listening.WORD))
    assert (folder / "settings.unreadable-1.toml").read_bytes() == first
    assert (folder / "settings.unreadable-2.toml").read_bytes() == second


def test_where_it_cannot_be_kept_beside_nothing_is_overwritten(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No room for the copy: the change is refused with its reason and the bad file stays."""
    spoilt = _spoil(folder / "settings.toml")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("shutil.copy2", full)
    assert keep_choices(Settings(), KEYS) == "No space left on device"
    assert (folder / "settings.toml").read_bytes() == spoilt
