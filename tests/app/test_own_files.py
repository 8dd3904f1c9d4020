"""Her own files (phrases, keys, settings, what is unfinished), however damaged: one sentence."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from app import resources
from app.language import shipped_phrases
from app.reading import text_of
from app.session.controls import read_controls
from app.session.kept_drafts import Unfinished, read_unfinished
from app.session.keys import KeysError, read_keys, with_own_keys
from app.session.settings import Settings, read_settings
from engine.limits import LONGEST_OWN_TEXT
from engine.toml_text import TomlTextError, toml_of
from speech.words.phrases import PhraseError, with_own_phrases

ODD = [
    pytest.param("a" + ".a" * 50_000 + " = 1", "deep", id="dotted key"),
    pytest.param("a = " + "[" * 5000, "deep", id="nesting"),
    pytest.param("a = " + "{b=" * 5000, "deep", id="inline tables"),
    pytest.param("a = " + "1" * 5000, "characters", id="digits"),
    pytest.param('a = """never ended', "no end", id="three quotes"),
    pytest.param('a = "' + '\\"' * 99_000, "TOML", id="quotes without end"),
    pytest.param("#" * (LONGEST_OWN_TEXT + 1), "characters", id="length"),
    pytest.param("a = 0x" + "f" * 150 + "\na = 1", "TOML", id="a key twice"),
]


@pytest.mark.parametrize(("text", "sentence"), ODD)
def test_no_toml_text_is_too_much(text: str, sentence: str) -> None:
    """What nobody would write is refused with the limit that it passes."""
    with pytest.raises(TomlTextError, match=sentence):
        toml_of(text)


@pytest.mark.parametrize(("text", "sentence"), ODD)
def test_every_file_of_hers_has_these_limits(text: str, sentence: str) -> None:
    """Phrases, keys and settings are refused by the same sentence and change nothing."""
    controls = read_controls(resources.text("shared/window/controls.toml"))
    keys = read_keys(resources.text("shared/keys.toml"), controls)
    with pytest.raises(PhraseError, match=sentence):
        with_own_phrases(shipped_phrases(), text)
    with pytest.raises(KeysError, match=sentence):
        with_own_keys(keys, text, controls)
    settings, wrong = read_settings(text)
    assert settings == Settings()
    assert sentence in wrong


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('[aliases]\nskein = ""', "needs the words"),
        ("[aliases]\nskein = 3", "needs the words"),
        ("aliases = 3", "has to be a table"),
        ('[commands.undo]\nsay = ["[scratch that one]"]', "without any word"),
        (f'[commands.undo]\nsay = ["scratch that {"[a] " * 26}"]', "in more than 500 ways"),
        ('[commands.undo]\nsay = ["scratch ' + "[a|b|c|d] " * 200 + '"]', "in more than 500 ways"),
        ("[commands]\nundo = 3", "has to be a table"),
        ("commands = [3]", "has to be a table"),
        ("[commands.undo]\nsay = 3", "has to be a list"),
    ],
)
def test_phrases_that_say_nothing_or_too_much(text: str, sentence: str) -> None:
    """An empty alias, a phrase without words and one of countless ways are refused."""
    with pytest.raises(PhraseError, match=sentence):
        with_own_phrases(shipped_phrases(), text)


@pytest.mark.parametrize(
    "text", ["keys = 3", "pedal = []", f'[keys]\n"{"9" * 150}" = "row_done"', '[keys]\n"²" = "x"']
)
def test_keys_that_are_no_keys(text: str) -> None:
    """What is no table of keys is one sentence."""
    controls = read_controls(resources.text("shared/window/controls.toml"))
    with pytest.raises(KeysError):
        with_own_keys(read_keys(resources.text("shared/keys.toml"), controls), text, controls)


def test_settings_full_of_names_are_told_in_short() -> None:
    """Ten thousand settings that mean nothing are one short sentence."""
    settings, wrong = read_settings("\n".join(f"name{number} = 1" for number in range(10_000)))
    assert settings == Settings()
    assert len(wrong) < 200
    assert "9995 more" in wrong


@pytest.mark.parametrize("text", ["[" * 100_000, '{"typed": ' + "1" * 5000 + "}", "\x00", "3"])
def test_unfinished_lines_that_are_damaged_are_nothing(text: str) -> None:
    """What was typed and not sent is spared where it can be read, and forgotten where not."""
    assert read_unfinished(text) == Unfinished()
    assert read_unfinished(json.dumps({"typed": {"a": "b"}})).typed == {"a": "b"}


def test_a_file_that_is_no_text_is_not_read_to_its_end(tmp_path: Path) -> None:
    """A pattern file of 40 MB, and a device that never ends, are refused in a sentence."""
    film = tmp_path / "film.toml"
    with film.open("wb") as file:
        file.truncate(40_000_000)
    with pytest.raises(OSError, match="holds more than"):
        text_of(film)
    endless = Path("/dev/zero")
    if endless.exists():
        with pytest.raises(OSError, match="holds more than"):
            text_of(endless)


def test_line_ends_are_those_of_python(tmp_path: Path) -> None:
    """A file written on another system reads as one written here."""
    (tmp_path / "a.toml").write_bytes("a = 1\r\nb = 'é'\r".encode())
    assert text_of(tmp_path / "a.toml") == "a = 1\nb = 'é'\n"
