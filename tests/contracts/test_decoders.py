"""What decoders promise, kept by the real recogniser and by its fake."""

from __future__ import annotations

import sys
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from app import resources
from speech.hearing import vosk_by_ctypes
from speech.hearing.decoder import Decoder, Hypothesis, Model, ScriptedModel
from speech.hearing.sound import RATE, for_the_model, read_wav
from speech.hearing.vosk_decoder import VoskModel

NOISE = (0.1 * np.random.default_rng(1).standard_normal(RATE)).astype(np.float32)
ROW_DONE = Path(__file__).parent.parent / "speech" / "recordings" / "row-done.wav"
SENTENCES = ["row done", "how far left", "[unk]"]


REAL = [pytest.param(name, marks=pytest.mark.model) for name in ("vosk", "ctypes")]


@pytest.fixture(scope="module", params=[*REAL, "scripted"])
def model(request: pytest.FixtureRequest) -> Model:
    """Return the real speech model, the same without the library's own binding, then its fake."""
    if request.param == "ctypes":
        binding = find_spec("vosk")
        assert binding is not None
        assert binding.origin is not None
        with pytest.MonkeyPatch.context() as patch:
            patch.setitem(sys.modules, "vosk", None)
            library = Path(binding.origin).with_name("libvosk.so")
            patch.setenv(vosk_by_ctypes.LIBRARY_VARIABLE, str(library))
            found = VoskModel(resources.model_folder())
        assert found._vosk is vosk_by_ctypes
        return found
    if request.param == "vosk":
        return VoskModel(resources.model_folder())
    script = [(Hypothesis("row done", 2.0), Hypothesis("how far left", 1.0))] * 20
    return ScriptedModel(script, script, script)


class TestEveryDecoder:
    """What the acceptance relies on, whatever recogniser is behind it."""

    def test_an_utterance_without_sound_is_read_as_nothing(self, model: Model) -> None:
        """Ending an utterance that never began gives no readings, also after dropping it."""
        decoder = model.closed(SENTENCES)
        assert decoder.finish() == ()
        decoder.feed(NOISE)
        decoder.drop()
        assert decoder.finish() == ()

    def test_readings_come_likeliest_first(self, model: Model) -> None:
        """Scores fall from the first reading to the last, and no reading is empty."""
        decoder: Decoder = model.closed(SENTENCES)
        decoder.feed(NOISE)
        found = decoder.finish()
        assert [one.score for one in found] == sorted((one.score for one in found), reverse=True)
        assert all(one.words for one in found)

    def test_an_utterance_ends_and_the_next_one_is_its_own(self, model: Model) -> None:
        """After an end nothing is left of the utterance."""
        decoder = model.closed(SENTENCES)
        for _ in range(3):
            decoder.feed(NOISE)
            decoder.finish()
            assert decoder.finish() == ()

    def test_the_same_voice_is_always_read_alike(self, model: Model) -> None:
        """A voice near the edge is no matter of luck: the scores are the same to the last bit."""
        voice = for_the_model(read_wav(ROW_DONE.read_bytes()))
        found = []
        for other in range(4):
            decoder = model.closed(SENTENCES)
            for _ in range(other):
                decoder.feed(NOISE)
                decoder.finish()
            decoder.feed(voice)
            found.append(decoder.finish())
        assert found[1:] == found[:-1]

    def test_dictation_needs_no_sentences(self, model: Model) -> None:
        """A free decoder takes any sound."""
        decoder = model.free()
        decoder.feed(NOISE)
        assert isinstance(decoder.finish(), tuple)

    def test_ordinary_words_are_known(self, model: Model) -> None:
        """A model can say which words it hears."""
        assert model.knows("row")
        assert not model.knows("")
