"""The recogniser's ways to take the whole process down: none can be reached.

Each guard runs in a process of its own, so that a failing guard fails its test and not the tests.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from app import resources
from speech.hearing.decoder import ModelError
from speech.hearing.model_folder import KNOWN, NEEDED, check_model
from speech.hearing.vosk_decoder import SEARCH, VoskModel, loads_elsewhere

if TYPE_CHECKING:
    from pathlib import Path

BEGIN = """
import sys, threading
from pathlib import Path
import numpy as np
from speech.hearing.vosk_decoder import VoskModel
model = VoskModel(Path(sys.argv[1]))
sound = np.random.default_rng(1).standard_normal(8000).astype(np.float32) * 0.1
"""


def in_a_process_of_its_own(code: str) -> str:
    """Run code after the model is loaded; return what it printed, or how its process died."""
    done = subprocess.run(
        [sys.executable, "-c", BEGIN + code, str(resources.model_folder())],
        capture_output=True,
        text=True,
        timeout=500,
        check=False,
        cwd=resources.path("shared/phrases").parent.parent,
    )
    return done.stdout.strip() or f"died with {done.returncode}: {done.stderr[-300:]}"


@pytest.mark.model
@pytest.mark.parametrize("sentences", ["[]", "['']", "[' ', '']", "['[unk]']"])
def test_an_empty_list_of_sentences_is_refused(sentences: str) -> None:
    """The library dies of an empty list; here it is an error with a sentence."""
    code = f"""
try:
    model.closed({sentences})
except ValueError as error:
    print(error)
"""
    assert "at least one sentence" in in_a_process_of_its_own(code)


@pytest.mark.model
def test_unknown_words_are_refused_not_dropped() -> None:
    """The library drops words it does not know, down to an empty list; here they are an error."""
    code = """
try:
    model.closed(["purl selvedge"])
except ValueError as error:
    print(error)
"""
    assert "does not know 'purl'" in in_a_process_of_its_own(code)


@pytest.mark.model
def test_two_threads_cannot_share_a_decoder() -> None:
    """The library dies of two threads on one recogniser; here the second one gets an error."""
    code = """
decoder = model.closed(["row done"])
refused = []
def other():
    for use in (lambda: decoder.feed(sound), decoder.finish, decoder.drop):
        try:
            use()
        except RuntimeError as error:
            refused.append(str(error))
for _ in range(20):
    thread = threading.Thread(target=other)
    thread.start()
    decoder.feed(sound)
    thread.join()
decoder.finish()
print(len(refused), refused[0])
"""
    assert in_a_process_of_its_own(code).startswith("60 A decoder was used by another thread")


@pytest.mark.model
def test_sentences_change_only_with_a_new_decoder() -> None:
    """A new list while sound is in flight is a new decoder; the old one ends as it was."""
    code = """
for _ in range(5):
    first = model.closed(["row done", "[unk]"])
    first.feed(sound)
    second = model.closed(["how far left", "[unk]"])
    second.feed(sound)
    first.feed(sound)
    first.finish(), second.finish(), first.drop(), first.finish()
print("alive", hasattr(first, "SetGrammar"))
"""
    assert in_a_process_of_its_own(code) == "alive False"


@pytest.mark.model
def test_odd_sound_does_no_harm() -> None:
    """No samples, one sample, silence, overload and an hour of use in small pieces are survived."""
    code = """
decoder = model.closed(["row done", "[unk]"])
for odd in (np.zeros(0), np.zeros(1), np.zeros(16000), np.full(16000, 9.0), np.full(800, np.nan)):
    decoder.feed(odd.astype(np.float32))
    decoder.finish()
for _ in range(300):
    decoder.feed(sound[:400])
decoder.drop()
print("alive", decoder.finish())
"""
    assert in_a_process_of_its_own(code) == "alive ()"


def a_copy(folder: Path) -> Path:
    """Return a copy of the model that may be spoilt."""
    copy = folder / "model"
    shutil.copytree(resources.model_folder(), copy)
    return copy


@pytest.mark.model
@pytest.mark.parametrize("name", NEEDED)
def test_a_missing_file_is_named(tmp_path: Path, name: str) -> None:
    """A model that lacks a file is refused with the file's name and the remedy."""
    copy = a_copy(tmp_path)
    (copy / name).unlink()
    with pytest.raises(ModelError, match=f"lacks its file '{name}'.*Run set-up again"):
        VoskModel(copy)


@pytest.mark.model
def test_a_damaged_file_is_named(tmp_path: Path) -> None:
    """One flipped bit in the model is found before the recogniser sees it."""
    copy = a_copy(tmp_path)
    path = copy / "graph" / "Gr.fst"
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)
    with pytest.raises(ModelError, match=r"damaged: 'graph/Gr\.fst'"):
        VoskModel(copy)


def test_no_model_and_no_folder_are_told(tmp_path: Path) -> None:
    """A path with nothing or with something else in it is refused in one sentence."""
    with pytest.raises(ModelError, match="There is no speech model"):
        VoskModel(tmp_path / "nothing")
    with pytest.raises(ModelError, match="lacks its file"):
        VoskModel(tmp_path)


@pytest.mark.model
def test_another_model_is_tried_in_another_process_first(tmp_path: Path) -> None:
    """Files that only look like a model take down a process of their own, not this one."""
    copy = a_copy(tmp_path)
    (copy / "uuid").write_text("another model", encoding="utf-8")
    assert not check_model(copy)
    assert loads_elsewhere(copy)
    (copy / "am" / "final.mdl").write_bytes(b"no model at all")
    with pytest.raises(ModelError, match="not a speech model that can be loaded"):
        VoskModel(copy)


@pytest.mark.model
def test_the_known_model_is_whole_and_stays_as_it_is() -> None:
    """Loading searches more widely than the model's own settings, without touching its files."""
    folder = resources.model_folder()
    assert check_model(folder)
    model = VoskModel(folder)
    assert model.knows("lifeline")
    assert not model.knows("purl")
    assert check_model(folder)
    assert set(KNOWN) >= set(NEEDED)
    assert SEARCH["beam"] != "10.0"


@pytest.mark.model
def test_loading_the_recogniser_opens_no_connection(network_attempts: list[str]) -> None:
    """The web client that the library brings is not loaded with it."""
    VoskModel(resources.model_folder())
    assert network_attempts == []


def other_model(folder: Path) -> Path:
    """Return a copy of the model that is not known as the one that set-up fetches."""
    shutil.copytree(resources.model_folder(), folder)
    (folder / "uuid").unlink(missing_ok=True)
    return folder


@pytest.mark.model
@pytest.mark.parametrize("kept", [1000, 2_000_000])
def test_another_model_with_a_damaged_graph_is_refused(tmp_path: Path, kept: int) -> None:
    """A graph that would end the process at the first sound is a sentence before anything hears."""
    copy = other_model(tmp_path / "other")
    graph = (copy / "graph" / "HCLr.fst").read_bytes()
    (copy / "graph" / "HCLr.fst").write_bytes(graph[:kept] + bytes(len(graph) - kept))
    with pytest.raises(ModelError, match="not a speech model that can be loaded"):
        VoskModel(copy)


@pytest.mark.model
def test_another_model_of_another_rate_is_refused(tmp_path: Path) -> None:
    """A model that was made for another rate is refused in a sentence that names ours."""
    copy = other_model(tmp_path / "other")
    settings = copy / "conf" / "mfcc.conf"
    settings.write_text(
        settings.read_text(encoding="utf-8") + "--sample-frequency=8000\n", encoding="utf-8"
    )
    with pytest.raises(ModelError, match="another rate than 16000"):
        VoskModel(copy)
