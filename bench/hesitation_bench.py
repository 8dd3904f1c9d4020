"""How well Walesong hears people who hesitate: pauses of many lengths, fillers, repairs.

    python bench/hesitation_bench.py [--each N] [--voices tuned|held] [--noise NOISE] [--errors]

`--each` is how many there are of every length of pause and of every other kind; the voices say
them in turn. "Right" counts also what was mended: taken short first and then for the whole.
"Asked" is what was not taken, while the right one is among those that are asked about. The delay
is from the end of the voice to the decision in seconds of sound, computing left out.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from app import resources
from bench.hesitant import Hesitant, hesitant, said
from bench.noise import LEAD_S, in_room
from bench.speech_bench import Walesong, settings_hash, standing
from bench.voices import HELD_APART, RATE, TUNED_ON
from speech.hearing.vosk_decoder import VoskModel
from speech.words.phrases import PhraseBook, read_phrases
from speech.words.understand import understand

if TYPE_CHECKING:
    from bench.noise import Sound
    from engine.commands import Command
    from engine.talk import Talk

_PLAIN = "row done"


@dataclass(slots=True)
class Tally:
    """What came of all that was said with one length of pause, or of one other kind."""

    clips: int = 0
    right: int = 0
    mended: int = 0
    """Of the right ones, those that were first taken for something shorter."""
    wrong: int = 0
    asked: int = 0
    delays: list[float] = field(default_factory=list)

    def line(self, name: str) -> str:
        """Return one line of the table."""
        delay = np.quantile(self.delays, [0.5, 0.95]) if self.delays else (np.nan, np.nan)
        share = 100 / max(self.clips, 1)
        return (
            f"{name:12} {self.clips:5} {self.right * share:7.1f} {self.mended * share:8.1f} "
            f"{self.wrong * share:7.1f} {self.asked * share:7.1f} {delay[0]:7.2f} {delay[1]:5.2f}"
        )


def take(hearer: Walesong, sound: Sound, end_s: float, one: Hesitant, into: Tally) -> str:
    """Let one be heard; return what was wrong with it, or an empty string."""
    answers = hearer.hear(sound)
    into.clips += 1
    stand = standing(answers)
    if [one.means] == [answer.said for answer in stand]:
        into.right += 1
        into.mended += len(answers) > 1
        into.delays.append(stand[-1].decided_s - end_s)
        return ""
    if stand:
        into.wrong += 1
        return f"{one.words} -> {[str(answer.said) for answer in stand]}"
    asked = any(one.means in maybe for maybe in hearer.doubts)
    into.asked += asked
    return "" if asked else f"{one.words} -> refused {hearer.refused}"


def main() -> None:
    """Measure and print one table."""
    options = _options()
    book = read_phrases(resources.text("shared/phrases/en.toml"))
    hearer = Walesong(VoskModel(resources.model_folder()), book)
    voices = [one for one in (TUNED_ON if options.voices == "tuned" else HELD_APART) if one.there()]
    them = hesitant(book, 1 if options.voices == "tuned" else 2, options.each)
    print(f"settings {settings_hash()}, {len(them)} clips, {', '.join(one.name for one in voices)}")
    tallies: dict[str, Tally] = defaultdict(Tally)
    for number, voice in enumerate(voices):
        mine = them[number :: len(voices)]
        for place, (one, speech) in enumerate(zip(mine, said(voice, mine), strict=True)):
            name = f"{one.silences[0]:.2f} s" if one.kind == "pause" else one.kind
            sound = in_room(speech, options.noise, 1000 * number + place, None)
            end_s = LEAD_S + len(speech) / RATE
            trouble = take(hearer, sound, end_s, one, tallies[name])
            if options.errors and trouble:
                print(f"{voice.name}: {trouble}", flush=True)
    print("             clips  right % (mended)  wrong % asked %  delay s  p95")
    for name in dict.fromkeys(
        f"{one.silences[0]:.2f} s" if one.kind == "pause" else one.kind for one in them
    ):
        print(tallies[name].line(name))
    plain = Hesitant((_PLAIN,), (), _PLAIN, _means(book))
    ticks = Tally()
    for number, voice in enumerate(voices):
        for seed in range(options.ticks):
            (speech,) = said(voice, [plain])
            sound = in_room(speech, options.noise, 10_000 * number + seed, None)
            take(hearer, sound, LEAD_S + len(speech) / RATE, plain, ticks)
    print(ticks.line(_PLAIN))


def _means(book: PhraseBook) -> Command | Talk:
    return understand(_PLAIN, book)[0]


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=60)
    parser.add_argument("--voices", choices=["tuned", "held"], default="held")
    parser.add_argument("--noise", default="quiet")
    parser.add_argument("--ticks", type=int, default=5, help="how often each says a plain command")
    parser.add_argument("--errors", action="store_true", help="list what was not taken rightly")
    return parser.parse_args()


if __name__ == "__main__":
    main()
