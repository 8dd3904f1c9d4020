"""What a decoder promises, whatever recogniser it is made of: sound in, scored readings out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from speech.hearing.sound import Samples


class ModelError(RuntimeError):
    """The speech model cannot be used; the sentence says why and what to do."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One way of reading an utterance."""

    words: str
    score: float
    """Natural logarithm of its likelihood, sound and words together; only differences count."""


class Decoder(Protocol):
    """
    Decodes one utterance after another, from one thread, at `sound.RATE`.

    An utterance is begun by the first `feed` and ended by `finish` or `drop`.
    """

    def feed(self, samples: Samples) -> None:
        """Take in the next piece of the utterance."""
        ...

    def finish(self) -> tuple[Hypothesis, ...]:
        """End the utterance and return its readings, the likeliest first; () if there are none."""
        ...

    def drop(self) -> None:
        """End the utterance without reading it."""
        ...


class Model(Protocol):
    """A loaded speech model: it knows words and makes decoders."""

    def knows(self, word: str) -> bool:
        """Whether the word can be heard at all."""
        ...

    def closed(self, sentences: Sequence[str]) -> Decoder:
        """Return a decoder for pairs of words as they come in the sentences."""
        ...

    def free(self) -> Decoder:
        """Return a decoder for any English: dictation."""
        ...


class ScriptedDecoder:
    """A decoder that hears what it was told to, for tests and demonstrations without a model."""

    def __init__(self, script: Sequence[tuple[Hypothesis, ...]]) -> None:
        """Hear the entries of `script` in turn, then nothing."""
        self._script = list(script)
        self.fed: list[int] = []
        """Samples of each utterance so far, ended ones too."""
        self._open = False

    def feed(self, samples: Samples) -> None:
        """Count the samples."""
        if not self._open:
            self.fed.append(0)
            self._open = True
        self.fed[-1] += len(samples)

    def finish(self) -> tuple[Hypothesis, ...]:
        """Return the next entry of the script; an utterance without sound is read as nothing."""
        heard, self._open = self._open, False
        return self._script.pop(0) if self._script and heard else ()

    def drop(self) -> None:
        """Forget the utterance; the script does not move."""
        self._open = False


class ScriptedModel:
    """A model whose decoders hear what they were told to: the fake of the recogniser."""

    def __init__(
        self,
        first: Sequence[tuple[Hypothesis, ...]],
        second: Sequence[tuple[Hypothesis, ...]] = (),
        dictated: Sequence[tuple[Hypothesis, ...]] = (),
    ) -> None:
        """Hear the scripts in the closed decoder, in the one for the second opinion, and freely."""
        self._closed = [ScriptedDecoder(first), ScriptedDecoder(second)]
        self._dictated = dictated
        self.asked_for: list[tuple[str, ...]] = []
        """The sentences of every closed decoder that was made."""

    def knows(self, word: str) -> bool:
        """Whether the word can be heard: every word can."""
        return bool(word)

    def closed(self, sentences: Sequence[str]) -> ScriptedDecoder:
        """Return the two decoders in turn."""
        self.asked_for.append(tuple(sentences))
        return self._closed[(len(self.asked_for) - 1) % 2]

    def free(self) -> ScriptedDecoder:
        """Return the decoder for dictation."""
        return ScriptedDecoder(self._dictated)
