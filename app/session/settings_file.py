"""
Where what is chosen on this device is kept: settings and taught keys, in the data folder.

A file that cannot be read is never overwritten: before a change takes its place it is kept beside
under another name.
"""

from __future__ import annotations

import shutil
from itertools import count
from typing import TYPE_CHECKING

from app import resources
from app.reading import text_of
from app.session.controls import read_controls
from app.session.keys import KeysError, read_keys, with_own_keys
from app.session.settings import Settings, read_settings, write_settings

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.session.manner import Manner

_SETTINGS = "settings.toml"
_KEYS = "keys.toml"


def read_choices() -> tuple[Settings, str, str]:
    """Return the settings, the text of the taught keys, and a sentence about what is wrong."""
    settings_text, wrong = _text(_SETTINGS)
    keys, keys_wrong = _text(_KEYS)
    settings, not_settings = read_settings(settings_text)
    wrong = wrong or not_settings
    keys_wrong = keys_wrong or _not_keys(keys)
    kept = [
        f'The file "{_free(name).name}" will keep what is there when something is changed.'
        for name, sentence in ((_SETTINGS, wrong), (_KEYS, keys_wrong))
        if sentence
    ]
    return settings, keys, " ".join(filter(None, (wrong, keys_wrong, *kept)))


def keep_choices(settings: Settings, keys: str) -> str:
    """Keep settings and taught keys; return why that was not possible, "" if it was."""
    folder = resources.data_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text, not_read in (
            (_SETTINGS, write_settings(settings), lambda old: read_settings(old)[1]),
            (_KEYS, keys, _not_keys),
        ):
            _keep_unreadable(name, not_read)
            new = folder / f"{name}.new"
            new.write_text(text, encoding="utf-8")
            new.replace(folder / name)  # never half a file
    except OSError as error:
        return error.strerror or str(error)
    return ""


def keep_manner(manner: Manner) -> None:
    """Keep how she is listened to and answered; what cannot be kept holds until the end."""
    settings, keys, _ = read_choices()
    if settings.manner != manner:
        keep_choices(settings.with_manner(manner), keys)


def _text(name: str) -> tuple[str, str]:
    """Return the text of a file ("" where there is none), and why it cannot be read."""
    try:
        return text_of(resources.data_folder() / name), ""
    except FileNotFoundError:
        return "", ""
    except (OSError, UnicodeDecodeError) as error:
        return "", f'"{name}" could not be read: {error}.'


def _not_keys(text: str) -> str:
    """Return why a text is no key map of the knitter's own, "" if it is one."""
    controls = read_controls(resources.text("shared/window/controls.toml"))
    try:
        with_own_keys(read_keys(resources.text("shared/keys.toml"), controls), text, controls)
    except KeysError as error:
        return f"Your own keys are left out: {error}"
    except (ValueError, AttributeError, RecursionError):
        return "Your own keys are left out: they are not as Walesong wrote them."
    return ""


def _keep_unreadable(name: str, not_read: Callable[[str], str]) -> None:
    """Copy a file beside if something in it cannot be read; OSError if that is not possible."""
    text, wrong = _text(name)
    if wrong or not_read(text):
        shutil.copy2(resources.data_folder() / name, _free(name))


def _free(name: str) -> Path:
    """Return the name under which a file that cannot be read is kept."""
    stem, _, ending = name.rpartition(".")
    places = (resources.data_folder() / f"{stem}.unreadable-{n}.{ending}" for n in count(1))
    return next(place for place in places if not place.exists())
