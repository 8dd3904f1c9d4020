"""house.model: the speech model arrives whole or not at all, and is mended by running again.

The archives here are small zip files made on the spot; the last tests look at the real model that
set-up fetched.
"""

from __future__ import annotations

import errno
import hashlib
import json
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from app import resources
from house.model import ENGLISH, MANIFEST, Archive, NotFetchedError, is_whole, provide
from house.trouble import Trouble

_ROOT = Path(__file__).parent.parent.parent
_FILES = {"am/final.mdl": b"sounds" * 1000, "conf/model.conf": b"--rule2=0.5\n", "README": b"!"}


def void(_: object) -> None:
    """Drop a value."""


class Source:
    """A place to fetch from that counts how often it is asked."""

    def __init__(self, path: Path) -> None:
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr("classes.jar", b"not the model")
            archive.writestr("assets/model-en-us/", b"")
            for name, content in _FILES.items():
                archive.writestr(f"assets/model-en-us/{name}", content)
        self.path = path
        self.content = path.read_bytes()
        self.asked = 0
        digest = hashlib.sha256(self.content).hexdigest()
        self.archive = Archive("org.example:model:aar:1", digest, "assets/model-en-us")

    def fetch(self, target: Path) -> None:
        """Bring the whole archive."""
        self.asked += 1
        target.write_bytes(self.content)


@pytest.fixture
def source(tmp_path: Path) -> Source:
    """Return a place that serves a small archive."""
    return Source(tmp_path / "served.aar")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return where the model is to be; neither it nor its parent exists yet."""
    return tmp_path / "cache" / "model"


def _left_over(folder: Path) -> list[str]:
    """Return what lies beside the model, apart from the lock."""
    return [p.name for p in folder.parent.iterdir() if p != folder and p.suffix != ".lock"]


def test_brings_the_inner_folder_and_nothing_else(source: Source, folder: Path) -> None:
    """The model is exactly the archive's inner folder, with a list of what was checked."""
    assert provide(folder, source.fetch, source.archive)
    found = {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in folder.rglob("*")
        if file.is_file()
    }
    manifest = json.loads(found.pop(MANIFEST))
    assert found == _FILES
    assert set(manifest) == set(_FILES)
    assert is_whole(folder)
    assert _left_over(folder) == []


def test_fetches_nothing_twice(source: Source, folder: Path) -> None:
    """A model that is whole is left alone, without asking anybody."""
    assert provide(folder, source.fetch, source.archive)
    assert not provide(folder, source.fetch, source.archive)
    assert source.asked == 1


def _replace_by_file(folder: Path) -> None:
    shutil.rmtree(folder)
    folder.write_text("in the way")


@pytest.mark.parametrize(
    "damage",
    [
        lambda folder: (folder / "am/final.mdl").unlink(),
        lambda folder: (folder / "am/final.mdl").write_bytes(b"short"),
        lambda folder: (folder / "am/final.mdl").write_bytes(b"Sounds" + b"sounds" * 999),
        lambda folder: (folder / MANIFEST).unlink(),
        lambda folder: (folder / MANIFEST).write_text("{}"),
        lambda folder: (folder / MANIFEST).write_text('["am/final.mdl"]'),
        lambda folder: (folder / MANIFEST).write_bytes(b"\xff\x00"),
        _replace_by_file,
    ],
    ids=["gone", "cut", "changed", "no list", "empty list", "odd list", "torn list", "a file"],
)
def test_a_damaged_model_is_noticed_and_mended(
    source: Source, folder: Path, damage: object
) -> None:
    """Whatever happened to the installed model, running again brings it back whole."""
    provide(folder, source.fetch, source.archive)
    assert callable(damage)
    damage(folder)
    assert not is_whole(folder)
    assert provide(folder, source.fetch, source.archive)
    assert is_whole(folder)
    assert _left_over(folder) == []


@pytest.mark.parametrize("content", [b"", b"half", b"<html>sign in to this network</html>"])
def test_a_wrong_archive_is_refused_and_mended_by_running_again(
    source: Source, folder: Path, content: bytes
) -> None:
    """What is not the expected archive never becomes a model; the next good one does."""
    with pytest.raises(Trouble, match=r"checksum differs.*--model PATH"):
        provide(folder, lambda target: void(target.write_bytes(content)), source.archive)
    assert not folder.exists()
    assert _left_over(folder) == []
    assert provide(folder, source.fetch, source.archive)
    assert is_whole(folder)


def test_without_a_network_nothing_changes(source: Source, folder: Path) -> None:
    """A fetch that fails is one sentence with a remedy; a damaged model stays as it was."""
    provide(folder, source.fetch, source.archive)
    (folder / "README").unlink()

    def fail(_: Path) -> None:
        raise NotFetchedError

    with pytest.raises(Trouble, match=r"is there a network\?.*WALESONG_MODEL"):
        provide(folder, fail, source.archive)
    assert (folder / "am/final.mdl").read_bytes() == _FILES["am/final.mdl"]
    assert _left_over(folder) == []


def test_a_full_disk_is_one_sentence(source: Source, folder: Path) -> None:
    """A disk that fills up is named as what it is, and nothing half-made stays on it."""

    def fill(target: Path) -> None:
        target.write_bytes(b"half")
        raise OSError(errno.ENOSPC, "No space left on device")

    with pytest.raises(Trouble, match=r"could not be put into .*: No space left"):
        provide(folder, fill, source.archive)
    assert _left_over(folder) == []


_SLOW = """
import sys, time
from pathlib import Path
from house.model import Archive, provide
folder, served, sha256, seconds = sys.argv[1:]
content = Path(served).read_bytes()
def fetch(target):
    with open(target, "wb") as file:
        file.write(content[:100])
        file.flush()
        print("half", flush=True)
        time.sleep(float(seconds))
        file.write(content[100:])
provide(Path(folder), fetch, Archive("org.example:model:aar:1", sha256, "assets/model-en-us"))
"""


def _start_slow(source: Source, folder: Path, seconds: float) -> subprocess.Popen[str]:
    arguments = [str(folder), str(source.path), source.archive.sha256, str(seconds)]
    return subprocess.Popen(
        [sys.executable, "-c", _SLOW, *arguments], cwd=_ROOT, stdout=subprocess.PIPE, text=True
    )


def test_a_killed_fetch_is_mended_by_running_again(source: Source, folder: Path) -> None:
    """A set-up killed in the middle of the archive leaves no model, and the next one cleans up."""
    with _start_slow(source, folder, 60) as slow:
        assert slow.stdout is not None
        assert slow.stdout.readline() == "half\n"
        slow.kill()
        slow.wait()
    assert not folder.exists()
    assert _left_over(folder) != []
    assert provide(folder, source.fetch, source.archive)
    assert is_whole(folder)
    assert _left_over(folder) == []


def test_two_set_ups_at_once_fetch_once(source: Source, folder: Path) -> None:
    """Of two set-ups at once one fetches; the other waits and takes what is there."""
    with _start_slow(source, folder, 0.5) as slow:
        assert slow.stdout is not None
        assert slow.stdout.readline() == "half\n"
        assert not provide(folder, source.fetch, source.archive)
        assert slow.wait() == 0
    assert source.asked == 0
    assert is_whole(folder)


@pytest.mark.model
def test_the_real_model_is_whole(model_folder: Path) -> None:
    """The model that these tests hear with is, file by file, the one that was checked."""
    if model_folder.name != resources.MODEL_NAME:
        pytest.skip("another model was named with WALESONG_MODEL")
    assert is_whole(model_folder)
    assert ENGLISH.coordinate.endswith(resources.MODEL_NAME.removeprefix("vosk-model-en-"))


@pytest.mark.model
def test_the_real_model_is_mended_file_by_file(model_folder: Path, tmp_path: Path) -> None:
    """A byte lost from the real model is noticed; packed again as it came, it is mended."""
    if not is_whole(model_folder):
        pytest.skip("another model was named with WALESONG_MODEL")
    copy = tmp_path / "cache" / "model"
    shutil.copytree(model_folder, copy)
    largest = max(
        (file for file in copy.rglob("*") if file.is_file()), key=lambda f: f.stat().st_size
    )
    with largest.open("r+b") as file:
        file.truncate(largest.stat().st_size - 1)
    assert not is_whole(copy)
    served = tmp_path / "served.aar"
    with zipfile.ZipFile(served, "w") as archive:
        for file_ in model_folder.rglob("*"):
            if file_.is_file() and file_.name != MANIFEST:
                inner = file_.relative_to(model_folder).as_posix()
                archive.write(file_, f"assets/model-en-us/{inner}")
    digest = hashlib.sha256(served.read_bytes()).hexdigest()
    fetch = Archive(ENGLISH.coordinate, digest, ENGLISH.inside)
    assert provide(copy, lambda target: void(shutil.copyfile(served, target)), fetch)
    assert is_whole(copy)
    assert json.loads((copy / MANIFEST).read_text()) == json.loads(
        (model_folder / MANIFEST).read_text()
    )
