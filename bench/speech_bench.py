"""How well Walesong hears: many voices in many noises, false alarms, delay, and others beside it.

    python bench/speech_bench.py [--talk FOLDER] [--digits FOLDER] [--share N] [--beside]
                                 [--voices tuned|held|all] [--keep FILE]

Every voice says every form that can be spoken. `--talk` names a folder of recordings of people
talking (Ogg, 16 kHz, mono): then there are conditions with talk behind the voice, and false alarms
an hour. `--digits` names a folder of digits spoken by people (WAV, the name begins with the digit).
`--share 6` takes every sixth clip, so that a run takes minutes and not hours. With `--beside`
others hear the same clips. `--resume FOLDER` keeps every finished line there, and a run that was
broken off goes on behind the last one; the lines belong to settings, phrases and share. One hash
stands for all settings and phrases; a figure belongs to its hash.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib
import json
import os
import platform
import sys
import time
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np
import psutil
import soundfile
from scipy.stats import beta, chi2

from app import resources
from bench.noise import LEAD_S, in_room, real_kitchen
from bench.sentences import Sentence, sentences
from bench.voices import HELD_APART, RATE, TUNED_ON, Voice, speak
from speech.hearing import cleaning, vosk_decoder
from speech.hearing.acceptance import Acceptance, AcceptanceSettings
from speech.hearing.events import Heard, RefusedSpeech
from speech.hearing.sound import Sound as Recorded
from speech.hearing.sound import at_rate, pcm16
from speech.words.phrases import PhraseBook, read_phrases
from speech.words.sampler import UNKNOWN, cover_sentences, read_fillers
from speech.words.understand import understand_heard

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from bench.noise import Sound
    from engine.commands import Command
    from engine.talk import Talk

NOISES = (
    "quiet", "pink_20", "pink_10", "pink_5", "white_20", "white_10", "white_5",
    "kitchen_20", "kitchen_10",
)  # fmt: skip
REAL = ("real_20", "real_10")
"""In a real kitchen, if a recording of one is named."""
TALK = ("talk1_20", "talk1_10", "talk1_5", "talk3_20", "talk3_10", "talk3_5")
BESIDE = ("quiet", "pink_10", "talk3_10")
"""The conditions in which others are measured beside us."""
ALARMED = ("how far left", "row done", "what comes next")
"""What the knitter has said before others talk: her voice is known."""
_TAIL_S = 1.0

Clip = tuple[Voice, Sentence, "Sound", float]
"""Who says what, how it sounds in the room, and the second at which the voice ends."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What one utterance was taken for, and when: seconds of sound and of computing."""

    said: Command | Talk | None
    """None where it only takes the answer before back and asks."""
    decided_s: float
    compute_s: float
    mends: bool = False
    """Whether it replaces the answer before."""
    words: str = ""


class Hearer(Protocol):
    """Something that hears commands in a whole piece of sound."""

    name: str

    def hear(self, sound: Sound) -> list[Answer]:
        """Return every command that it took."""
        ...


class Walesong:
    """The product itself, as it listens."""

    name = "Walesong"

    def __init__(self, model: vosk_decoder.VoskModel, book: PhraseBook) -> None:
        """Prepare."""
        fillers = read_fillers(resources.text("shared/phrases/filler.en.txt"))
        self.acceptance = Acceptance(model, book, fillers)
        self.doubts: list[tuple[Command | Talk, ...]] = []
        """What the last sound may have been, where only a value was unsure: that is asked."""
        self.refused: list[tuple[str, str]] = []
        """The words of the last sound that were refused, and why."""

    def hear(self, sound: Sound) -> list[Answer]:
        """Return every command that was accepted."""
        self.acceptance.start_over()
        self.doubts, self.refused = [], []
        quiet = np.zeros(round(_TAIL_S * RATE), dtype=np.float32)
        answers = []
        whole = np.concatenate([sound, quiet])
        for at in range(0, len(whole), 800):
            for event in self.acceptance.feed(whole[at : at + 800]):
                if isinstance(event, Heard):
                    span, said = event.span, event.candidates[0]
                    answers.append(
                        Answer(said, span.decided_s, span.compute_s, event.mends, event.words)
                    )
                elif isinstance(event, RefusedSpeech):
                    self.refused.append((event.words, event.reason))
                    if event.maybe:
                        self.doubts.append(event.maybe)
                    if event.mends:
                        answers.append(Answer(None, event.span.decided_s, 0.0, mends=True))
        return answers


class PlainVosk:
    """Vosk with its own endpointer: with the list of sentences, or with none (dictation)."""

    def __init__(self, folder: Path, book: PhraseBook, *, closed: bool) -> None:
        """Prepare."""
        import vosk  # noqa: PLC0415

        vosk.SetLogLevel(-1)
        self.name = "Vosk with the list" if closed else "Vosk, free dictation"
        self._book = book
        model = vosk.Model(str(folder))
        grammar = [json.dumps([*cover_sentences(book, answers=False), UNKNOWN])] if closed else []
        self._recogniser = vosk.KaldiRecognizer(model, RATE, *grammar)

    def hear(self, sound: Sound) -> list[Answer]:
        """Return every final that is a command as a whole."""
        answers = []
        for at in range(0, len(sound), 1600):
            if self._recogniser.AcceptWaveform(pcm16(sound[at : at + 1600])):
                answers += self._commands(self._recogniser.Result(), at + 1600)
        return answers + self._commands(self._recogniser.FinalResult(), len(sound))

    def _commands(self, result: str, at: int) -> list[Answer]:
        words = str(json.loads(result).get("text", ""))
        return [Answer(one, at / RATE, 0.0) for one in understand_heard(words, self._book)[:1]]


class Pocketsphinx:
    """pocketsphinx with the same forms as a JSGF grammar, on what its own endpointer cuts out."""

    name = "pocketsphinx"

    def __init__(self, book: PhraseBook) -> None:
        """Prepare; ImportError where it is not installed."""
        pocketsphinx = importlib.import_module("pocketsphinx")
        self._book = book
        lines = sorted(set(cover_sentences(book, answers=False)))
        known = pocketsphinx.Decoder(lm=None)
        usable = [line for line in lines if all(known.lookup_word(word) for word in line.split())]
        grammar = f"#JSGF V1.0;\ngrammar said;\npublic <said> = {' | '.join(usable)};"
        self._decoder = pocketsphinx.Decoder(lm=None)
        self._decoder.add_jsgf_string("said", grammar)
        self._decoder.activate_search("said")

    def hear(self, sound: Sound) -> list[Answer]:
        """Return what the whole clip is taken for."""
        self._decoder.start_utt()
        self._decoder.process_raw(pcm16(sound), no_search=False, full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        words = found.hypstr if found else ""
        end = len(sound) / RATE
        return [Answer(one, end, 0.0) for one in understand_heard(words, self._book)[:1]]


def standing(answers: Sequence[Answer]) -> list[Answer]:
    """Return the answers that were not replaced, or taken back and asked about."""
    stand: list[Answer] = []
    for answer in answers:
        stand = stand[:-1] if answer.mends else stand
        stand += [] if answer.said is None else [answer]
    return stand


@dataclass(slots=True)
class Score:
    """What came of all clips of one condition."""

    hearer: str
    voices: str
    noise: str
    clips: int = 0
    right: int = 0
    wrong: int = 0
    asked: int = 0
    """Not taken, but the right value is among those that are asked about."""
    delays: list[float] = field(default_factory=list)
    audio_s: float = 0.0
    cpu_s: float = 0.0
    errors: list[tuple[str, str, str]] = field(default_factory=list)

    def line(self) -> str:
        """Return one line of the table."""
        low, high = _bounds(self.right, self.clips)
        delay = np.quantile(self.delays, [0.5, 0.95]) if self.delays else (np.nan, np.nan)
        return (
            f"{self.hearer:22} {self.voices:6} {self.noise:11} {self.clips:5} "
            f"{_percent(self.right, self.clips):6.1f} ({low:4.1f}-{high:5.1f}) "
            f"{_percent(self.wrong, self.clips):6.1f} {_percent(self.asked, self.clips):6.1f} "
            f"{delay[0]:7.2f} {delay[1]:6.2f} {self.cpu_s / max(self.audio_s, 1e-9):8.3f}"
        )


def _percent(part: int, whole: int) -> float:
    return 100 * part / whole if whole else float("nan")


def _bounds(part: int, whole: int) -> tuple[float, float]:
    """Return the exact 95 % bounds of a share (Clopper and Pearson), in percent."""
    low = beta.ppf(0.025, part, whole - part + 1) if part else 0.0
    high = beta.ppf(0.975, part + 1, whole - part) if part < whole else 1.0
    return float(100 * low), float(100 * high)


def settings_hash() -> str:
    """Return one short hash over all settings and phrases that decide what is heard."""
    settings = json.dumps(asdict(AcceptanceSettings()), sort_keys=True)
    search = json.dumps(
        [
            vosk_decoder.SEARCH,
            vosk_decoder.ALTERNATIVES,
            vosk_decoder.OWN_DITHER,
            cleaning.FLOOR,
        ]
    )
    texts = [resources.text(f"shared/phrases/{name}") for name in ("en.toml", "filler.en.txt")]
    return hashlib.sha256("\n".join([settings, search, *texts]).encode()).hexdigest()[:12]


def clips(
    voices: Sequence[Voice],
    said: Sequence[Sentence],
    noise: str,
    share: int,
    talk: Path | None,
    *,
    apart: bool = False,
) -> Iterator[Clip]:
    """Yield every clip of a condition with the second at which its voice ends.

    With `apart` the noise is drawn by other seeds, and the talk is other talk.
    """
    for number, voice in enumerate(voices):
        chosen = [(place, one) for place, one in enumerate(said) if (place + number) % share == 0]
        for (place, one), speech in zip(
            chosen, speak(voice, [one.words for _, one in chosen]), strict=True
        ):
            seed = number * 1000 + place + (500_000 if apart else 0)
            sound = in_room(speech, noise, seed, talk, apart=apart)
            yield voice, one, sound, LEAD_S + len(speech) / RATE


def measure(hearer: Hearer, group: str, noise: str, made: Iterator[Clip]) -> Score:
    """Let a hearer hear all clips of a condition."""
    score = Score(hearer.name, group, noise)
    for voice, one, sound, end in made:
        begun = time.process_time()
        answers = hearer.hear(sound)
        score.cpu_s += time.process_time() - begun
        score.audio_s += len(sound) / RATE
        score.clips += 1
        stand = standing(answers)
        if len(stand) == 1 and stand[0].said == one.means:
            score.right += 1
            score.delays.append(stand[0].decided_s - end + stand[0].compute_s)
        elif stand:
            score.wrong += 1
            score.errors.append((voice.name, one.words, str([each.said for each in stand])))
        elif isinstance(hearer, Walesong):
            asked = any(one.means in maybe for maybe in hearer.doubts)
            score.asked += asked
            outcome = "asked" if asked else "refused"
            score.errors.append((voice.name, one.words, f"{outcome} {hearer.refused}"))
    return score


def once(folder: Path | None, key: str, make: Callable[[], Score]) -> Score:
    """Return a score that an interrupted run with the same settings kept, else make and keep it."""
    if folder is None:
        return make()
    name = hashlib.sha256(f"{settings_hash()}|{key}".encode()).hexdigest()[:16]
    path = folder / f"{name}.json"
    if path.exists():
        return Score(**json.loads(path.read_text(encoding="utf-8")))
    score = make()
    folder.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    part.write_text(json.dumps(asdict(score)), encoding="utf-8")
    part.replace(path)
    return score


def false_alarms(hearer: Walesong, talk: Path, gain_db: float) -> str:
    """Let the product listen to people who do not talk to it, while a question stands."""
    seconds, asked = 0.0, 0
    taken: list[str] = []
    short: list[str] = []
    hearer.acceptance.answers = True
    knitter = next(voice for voice in HELD_APART if voice.there())
    hers = [in_room(one, "quiet", 7, None) for one in speak(knitter, ALARMED)]
    first = np.concatenate(hers)
    for path in sorted(talk.glob("*.ogg")):
        sound, rate = soundfile.read(path, dtype="float32")
        assert rate == RATE
        others = np.asarray(sound * 10 ** (gain_db / 20), dtype=np.float32)
        begun_s = len(first) / RATE
        answers = hearer.hear(np.concatenate([first, others]))
        answers = [one for one in answers if one.decided_s > begun_s]
        for one in answers:
            if one.said is not None:
                at = f"{path.stem} {one.decided_s - begun_s:.0f} s"
                always = understand_heard(one.words, hearer.acceptance.book)
                (taken if always else short).append(f"{at} {one.words}")
        asked += len(hearer.doubts)
        seconds += len(sound) / RATE
    hearer.acceptance.answers = False
    hours = seconds / 3600
    most = chi2.ppf(0.95, 2 * len(taken) + 2) / 2 / hours
    return (
        f"talk at {gain_db:+.0f} dB: {len(taken)} false alarms in {hours:.2f} h "
        f"= {len(taken) / hours:.2f} an hour (95 % bound {most:.2f}) {taken or ''}, "
        f"{asked} numbers unsure, {len(short)} short answers {short or ''}"
    )


def near_misses(hearer: Walesong, voices: Sequence[Voice], files: Sequence[Path]) -> str:
    """Let voices say everyday sentences that resemble commands."""
    lines = [line for path in files for line in path.read_text("utf-8").splitlines() if line]
    count, taken = 0, []
    for voice in voices:
        for line, speech in zip(lines, speak(voice, lines), strict=True):
            count += 1
            answers = hearer.hear(in_room(speech, "quiet", count, None))
            taken += [f"{voice.name}: {line} -> {one.said.name}" for one in answers if one.said]
    return (
        f"near-misses: {len(taken)} of {count} taken ({_percent(len(taken), count):.2f} %) {taken}"
    )


def digits(hearer: Walesong, model: vosk_decoder.VoskModel, book: PhraseBook, folder: Path) -> str:
    """Let people say single digits: they are heard when asked for, and none is a command."""
    ten = model.closed([*book.numbers.ones, UNKNOWN])
    right, taken, count = 0, 0, 0
    for path in sorted(folder.glob("[0-9]_*.wav")):
        samples, rate = soundfile.read(path, dtype="float32")
        sound = at_rate(Recorded(np.asarray(samples, dtype=np.float32), rate))
        quiet = np.zeros(RATE // 2, dtype=np.float32)
        ten.feed(np.concatenate([quiet, sound, quiet]))
        found = ten.finish()
        count += 1
        right += bool(found) and found[0].words == book.numbers.ones[int(path.name[0])]
        taken += bool(hearer.hear(np.concatenate([quiet, quiet, sound, quiet])))
    low, high = _bounds(right, count)
    return (
        f"digits said by people: {right} of {count} right ({_percent(right, count):.1f} %, "
        f"{low:.1f}-{high:.1f}), {taken} taken for a command"
    )


def main() -> None:
    """Measure and print one table."""
    options = _options()
    book = read_phrases(resources.text("shared/phrases/en.toml"))
    folder = resources.model_folder()
    ours = Walesong(vosk_decoder.VoskModel(folder), book)
    begun = time.monotonic()
    print(
        f"settings {settings_hash()}, {datetime.now(UTC):%Y-%m-%d}, {platform.machine()}, ", end=""
    )
    print(f"{os.cpu_count()} cores, memory {psutil.Process().memory_info().rss >> 20} MB")
    groups = {"tuned": (TUNED_ON, 1), "held": (HELD_APART, 2)}
    if options.voices != "all":
        groups = {options.voices: groups[options.voices]}
    conditions = [*NOISES, *(REAL if real_kitchen() else ()), *(TALK if options.talk else ())]
    if options.noises:
        conditions = options.noises.split(",")
    scores: list[Score] = []
    print(
        f"{'':22} {'voices':6} {'noise':11} clips  right % (95 % bounds)  wrong % asked % ", end=""
    )
    print("delay s p95  share of a core")
    for group, (voices, seed) in () if options.only_alarms else groups.items():
        there = [voice for voice in voices if voice.there()]
        said = sentences(book, seed)
        for noise in conditions:
            hearers: list[Hearer] = [ours]
            if options.beside and noise in BESIDE:
                hearers += _others(folder, book)
            for hearer in hearers:
                made = clips(there, said, noise, options.share, options.talk, apart=group == "held")
                key = f"{hearer.name}|{group}|{noise}|{options.share}"
                scores.append(
                    once(options.resume, key, partial(measure, hearer, group, noise, made))
                )
                print(scores[-1].line(), flush=True)
                if options.errors:
                    print(*scores[-1].errors, sep="\n")
    more = []
    files = [Path(__file__).with_name("near_misses.txt"), *options.near_misses]
    speakers = TUNED_ON[::2] if options.voices == "tuned" else HELD_APART
    if not options.only_alarms:
        more.append(near_misses(ours, [voice for voice in speakers if voice.there()], files))
        print(more[-1], flush=True)
    if options.digits:
        more.append(digits(ours, vosk_decoder.VoskModel(folder), book, options.digits))
        print(more[-1], flush=True)
    for gain in (0.0, -15.0) if options.talk and not options.no_alarms else ():
        more.append(false_alarms(ours, options.talk, gain))
        print(more[-1], flush=True)
    memory = psutil.Process().memory_info().rss >> 20
    print(f"memory at the end {memory} MB, {time.monotonic() - begun:.0f} s")
    if options.keep:
        options.keep.write_text(_kept(scores, more, options.share), encoding="utf-8")


def _others(folder: Path, book: PhraseBook) -> list[Hearer]:
    others: list[Hearer] = [
        PlainVosk(folder, book, closed=True),
        PlainVosk(folder, book, closed=False),
    ]
    try:
        others.append(Pocketsphinx(book))
    except ImportError:
        print("pocketsphinx is not installed: left out")
    return others


def _kept(scores: Sequence[Score], more: Sequence[str], share: int) -> str:
    rows = [
        {
            "hearer": one.hearer,
            "voices": one.voices,
            "noise": one.noise,
            "clips": one.clips,
            "right": one.right,
            "wrong": one.wrong,
            "asked": one.asked,
            "delay_s": [round(float(q), 3) for q in np.quantile(one.delays or [0], [0.5, 0.95])],
            "share_of_a_core": round(one.cpu_s / max(one.audio_s, 1e-9), 4),
        }
        for one in scores
    ]
    kept = {
        "settings": settings_hash(),
        "date": f"{datetime.now(UTC):%Y-%m-%d}",
        "machine": f"{platform.machine()}, {os.cpu_count()} cores",
        "every_nth_clip": share,
        "scores": rows,
        "more": list(more),
    }
    return json.dumps(kept, indent=1) + "\n"


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--talk", type=Path, default=os.environ.get("WALESONG_TALK"))
    parser.add_argument("--digits", type=Path, help="folder of digits spoken by people")
    parser.add_argument("--near-misses", type=Path, nargs="*", default=[])
    parser.add_argument("--share", type=int, default=6)
    parser.add_argument("--voices", choices=["tuned", "held", "all"], default="all")
    parser.add_argument("--noises", help="only these, with commas between")
    parser.add_argument("--beside", action="store_true", help="measure others too")
    parser.add_argument("--no-alarms", action="store_true", help="leave false alarms out")
    parser.add_argument("--only-alarms", action="store_true", help="false alarms and no more")
    parser.add_argument("--errors", action="store_true", help="list what was taken wrongly")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--resume", type=Path, help="keeps finished lines; new for new code")
    options = parser.parse_args()
    options.talk = Path(options.talk) if options.talk else None
    return options


if __name__ == "__main__":
    main()
