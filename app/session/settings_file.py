"""Where what is chosen on this device is kept: settings and taught keys, in the data folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app import resources
from app.session.settings import Settings, read_settings, write_settings

if TYPE_CHECKING:
    from app.session.manner import Manner

_SETTINGS = "settings.toml"
_KEYS = "keys.toml"


def read_choices() -> tuple[Settings, str, str]:
    """Return the settings, the text of the taught keys, and a sentence about what is wrong."""
    folder = resources.data_folder()
    try:
        text = (folder / _SETTINGS).read_text(encoding="utf-8")
    except FileNotFoundError:
        text = ""
    except (OSError, UnicodeDecodeError) as error:
        return Settings(), "", f"The settings could not be read: {error}."
    settings, wrong = read_settings(text)
    try:
        keys = (folder / _KEYS).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        keys = ""
    return settings, keys, wrong


def keep_choices(settings: Settings, keys: str) -> str:
    """Keep settings and taught keys; return why that was not possible, "" if it was."""
    folder = resources.data_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in ((_SETTINGS, write_settings(settings)), (_KEYS, keys)):
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
