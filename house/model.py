"""The speech model: fetched once, checked, and put into the user's cache in one step.

Runs inside the environment (``python -m house.model``), because the client that fetches it is one
of the locked packages. What is at work lies in a folder of its own beside the final place and is
moved there only when it is whole and its checksum is right, so a model is either all there or not
there at all.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import shutil
import sys
import tempfile
import zipfile
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from house.one_at_a_time import one_at_a_time
from house.trouble import Trouble

if TYPE_CHECKING:
    from collections.abc import Callable

    Fetch = Callable[[Path], None]
    """Brings the archive to the given path, or raises NotFetchedError."""

MANIFEST: Final = "walesong-checked.json"
"""File inside the installed model that names every other file's size and SHA-256."""

_AT_WORK: Final = ".fetching-"
_REMEDY: Final = (
    "Run again to mend it, or name another model's folder with --model PATH or WALESONG_MODEL."
)


class NotFetchedError(Exception):
    """The archive did not arrive, or not all of it."""


@dataclass(frozen=True, slots=True)
class Archive:
    """An archive (zip) that holds a speech model in one of its folders."""

    coordinate: str
    """Maven coordinate: group, artifact, type, version."""
    sha256: str
    inside: str
    """The folder of the archive that is the model."""


ENGLISH: Final = Archive(
    # A small US English model under the Apache licence 2.0.
    coordinate="com.alphacephei:vosk-model-en:aar:0.3.45",
    sha256="8a5792fccaf873b4745dbd1b3fe19d8a77a15898e806674020eea820424771cd",
    inside="assets/model-en-us",
)


def provide(folder: Path, fetch: Fetch, archive: Archive = ENGLISH) -> bool:
    """Make sure that ``folder`` holds the whole model; tell whether it had to be fetched.

    Raises Trouble when the archive cannot be had, is not the expected one, or does not fit on the
    disk. ``folder`` is then as it was before.
    """
    with one_at_a_time(folder.parent / f".{folder.name}.lock"):
        # Nobody else is at work while the lock is held: such folders were left by a killed set-up.
        for left in folder.parent.glob(f"{_AT_WORK}*"):
            shutil.rmtree(left, ignore_errors=True)
        if is_whole(folder):
            return False
        try:
            with tempfile.TemporaryDirectory(prefix=_AT_WORK, dir=folder.parent) as work:
                _install(folder, fetch, archive, Path(work))
        except OSError as error:
            raise Trouble(
                f"The speech model could not be put into {folder.parent}: "
                f"{error.strerror or error}."
            ) from error
    return True


def is_whole(folder: Path) -> bool:
    """Tell whether every file of an installed model is there and unchanged."""
    try:
        manifest: dict[str, dict[str, Any]] = json.loads(
            (folder / MANIFEST).read_text(encoding="utf-8")
        )
        return bool(manifest) and all(
            (folder / name).stat().st_size == entry["size"]
            and _digest(folder / name) == entry["sha256"]
            for name, entry in manifest.items()
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return False


def _install(folder: Path, fetch: Fetch, archive: Archive, work: Path) -> None:
    packed, unpacked = work / "archive", work / "model"
    try:
        fetch(packed)
    except NotFetchedError as error:
        raise Trouble(
            f"The speech model could not be fetched; is there a network? {_REMEDY}"
        ) from error
    if _digest(packed) != archive.sha256:
        raise Trouble(f"What arrived is not the speech model: its checksum differs. {_REMEDY}")
    _unpack(packed, unpacked, archive.inside)
    manifest = {
        file.relative_to(unpacked).as_posix(): {
            "size": file.stat().st_size,
            "sha256": _digest(file),
        }
        for file in sorted(unpacked.rglob("*"))
        if file.is_file()
    }
    (unpacked / MANIFEST).write_text(json.dumps(manifest, indent=1) + "\n", encoding="utf-8")
    if folder.exists():
        folder.rename(work / "before")
    unpacked.rename(folder)


def _unpack(packed: Path, unpacked: Path, inside: str) -> None:
    unpacked.mkdir()
    with zipfile.ZipFile(packed) as archive:
        for member in archive.infolist():
            if member.is_dir() or not member.filename.startswith(f"{inside}/"):
                continue
            target = unpacked / member.filename.removeprefix(f"{inside}/")
            target.parent.mkdir(parents=True, exist_ok=True)
            with archive.open(member) as source, target.open("wb") as sink:
                shutil.copyfileobj(source, sink)


def _digest(file: Path) -> str:
    with file.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


def fetch_english(target: Path) -> None:
    """Fetch the archive of the model; raises NotFetchedError."""
    download(ENGLISH.coordinate, target)


def download(coordinate: str, target: Path) -> None:
    """Fetch an artifact with the artifact client's own defaults; raises NotFetchedError."""
    import requests  # noqa: PLC0415 - only when it is needed: looking at a model needs no client
    from maven_artifact.artifact import Artifact  # noqa: PLC0415
    from maven_artifact.downloader import Downloader  # noqa: PLC0415
    from maven_artifact.requestor import RequestException  # noqa: PLC0415

    downloader = Downloader()
    # Give up on a connection that says nothing for a minute, instead of never.
    downloader.requestor.request = partial(downloader.requestor.request, timeout=60)
    # The client prints addresses that mean nothing to the user.
    with contextlib.redirect_stdout(io.StringIO()):
        try:
            downloader.download(Artifact.parse(coordinate), str(target))
        except (RequestException, requests.RequestException) as error:
            raise NotFetchedError from error


def main() -> int:
    """Provide the English model in the user's cache."""
    from app import resources  # noqa: PLC0415 - the only module that knows the place

    folder = resources.cache_folder() / resources.MODEL_NAME
    if not is_whole(folder):
        print("Fetching the speech model (41 MB, once).", flush=True)
    try:
        provide(folder, fetch_english)
    except Trouble as trouble:
        print(trouble, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
