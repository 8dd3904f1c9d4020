"""Where files lie: the only module of the product that knows paths.

The product's data is two folders, ``shared`` (phrases, tables, patterns, grammars) and ``assets``
(fonts, tones, pictures, the practice recording). In a checkout and in the phone build they stand
beside the packages; an installed wheel carries them inside this package. Everything else is
handed its text, bytes or folder by this module.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path, PurePosixPath
from typing import Final

import platformdirs

MODEL_VARIABLE: Final = "WALESONG_MODEL"
"""Environment variable that names the folder of another speech model."""

MODEL_NAME: Final = "vosk-model-en-0.3.45"
"""Name of the speech model's folder in the user's cache."""

_APPLICATION: Final = "walesong"
_PACKAGE: Final = Path(__file__).resolve().parent
_FOLDERS: Final = frozenset({"shared", "assets"})


def path(relative: str) -> Path:
    """Return where a file or folder of the product's data lies.

    ``relative`` is written with forward slashes and starts with ``shared/`` or ``assets/``.
    Raises ValueError for any other start and FileNotFoundError when there is no such file.
    """
    parts = PurePosixPath(relative).parts
    if not parts or parts[0] not in _FOLDERS or ".." in parts:
        raise ValueError(f"'{relative}' does not start with shared/ or assets/, or leaves it.")
    inside = _PACKAGE / f"_{parts[0]}"
    folder = inside if inside.is_dir() else _PACKAGE.parent / parts[0]
    found = folder.joinpath(*parts[1:])
    if not found.exists():
        raise FileNotFoundError(f"This copy of Walesong lacks its file '{relative}'.")
    return found


def text(relative: str) -> str:
    """Return the text of a data file (UTF-8); errors as for `path`."""
    return path(relative).read_text(encoding="utf-8")


def data(relative: str) -> bytes:
    """Return the bytes of a data file; errors as for `path`."""
    return path(relative).read_bytes()


def files(relative: str, pattern: str = "*") -> tuple[Path, ...]:
    """Return the files of a data folder whose names match ``pattern``, in order of name."""
    return tuple(sorted(found for found in path(relative).glob(pattern) if found.is_file()))


def model_folder(override: str | os.PathLike[str] | None = None) -> Path:
    """Return the folder of the speech model, whether or not anything is there.

    ``override`` (an option of the command line) comes first, then the environment variable
    WALESONG_MODEL, then the folder beside the packages (a phone build brings it there), then the
    place in the user's cache where set-up puts the model.
    """
    named = override or os.environ.get(MODEL_VARIABLE)
    if named:
        return Path(named).expanduser()
    beside = _PACKAGE.parent / MODEL_NAME
    return beside if beside.is_dir() else cache_folder() / MODEL_NAME


def cache_folder() -> Path:
    """Return the user's cache folder for what can be fetched again; it may not exist yet."""
    return platformdirs.user_cache_path(_APPLICATION, appauthor=False)


class KeptText:
    """A text that can be made again, kept in the user's cache between two starts."""

    def __init__(self, name: str, folder: Path | None = None) -> None:
        """Name the file; ``folder`` takes the place of the user's cache."""
        self._file = (folder or cache_folder()) / name

    def load(self) -> str | None:
        """Return the text, or None where none is kept or it cannot be read."""
        try:
            return self._file.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            return None

    def save(self, text: str) -> None:
        """Keep the text; where nothing can be written it is made again at the next start."""
        beside = self._file.with_name(f"{self._file.name}.{os.getpid()}")
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            beside.write_text(text, encoding="utf-8")
            beside.replace(self._file)
        except OSError:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)


def said_path(path: Path) -> str:
    """Return a path as it is told on a screen: from her home, which every system calls "~"."""
    try:
        return "~/" + path.relative_to(Path.home()).as_posix()
    except (ValueError, RuntimeError):
        return str(path)


def data_folder() -> Path:
    """Return the user's folder for journals and settings; it may not exist yet."""
    return platformdirs.user_data_path(_APPLICATION, appauthor=False)
