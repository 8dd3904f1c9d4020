"""How well people are heard in another domain: orders for coffee, beside published figures.

    python bench/orders_bench.py --orders FOLDER --kitchen FILE [--snr 12,6] [--half tuned|held|all]
                                 [--share N]

The folder holds recordings of people (Ogg or WAV, 16 kHz, mono), `labels.json` with what each
says, slot by slot, and `forms.json` with the sentences of that domain. They become a phrase book
like any other; all else is the product as it listens to knitters. "Right" is: every labelled slot.
The kitchen's noise is mixed in at ratios to the loud parts of each recording. Every second
recording (by name) may be tuned on, the others are held apart.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Final, cast

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from app import resources
from bench.noise import LEAD_S, ROOM_RMS, TAIL_S, loud_rms, pink, recorded
from bench.sentences import Sentence
from bench.speech_bench import Score, Walesong, measure, settings_hash
from bench.voices import RATE, SPEECH_RMS, Voice
from engine.toml_text import toml_of
from speech.hearing.vosk_decoder import VoskModel
from speech.words.phrases import read_phrases
from speech.words.vocabulary import Vocabulary

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bench.speech_bench import Clip
    from engine.commands import Command
    from engine.talk import Talk
    from speech.words.phrases import PhraseBook

PUBLISHED: Final = """\
published figures of that benchmark, right %, at 6, 9, 12, 18 and 24 dB (engines as of then):
  Rhino       96 97 98 99 99
  LUIS        86 89 90 92 93
  Watson      72 84 89 95 96
  Lex         80 84 85 87 88
  Dialogflow  70 78 78 81 83"""


@dataclass(frozen=True, slots=True)
class Order:
    """A drink that is ordered; how it is asked for makes no difference."""

    name: ClassVar[str] = "order"
    coffeeDrink: str  # noqa: N815 (the labels have this name)
    size: str | None = None
    roast: str | None = None
    numberOfShots: str | None = None  # noqa: N815
    milkAmount: str | None = None  # noqa: N815
    sugarAmount: str | None = None  # noqa: N815
    start: str | None = field(default=None, compare=False)


def book_of(folder: Path) -> PhraseBook:
    """Return the phrase book of the domain of a folder."""
    data: dict[str, Any] = json.loads((folder / "forms.json").read_text(encoding="utf-8"))
    slots: dict[str, list[str]] = {**data["slots"], "start": data["starts"]}
    kinds = {
        name: cast("type[StrEnum]", StrEnum(name, [(f"V{at}", one) for at, one in enumerate(them)]))
        for name, them in slots.items()
    }
    order = cast("type[Command | Talk]", Order)
    vocabulary = Vocabulary({"commands": {Order.name: order}}, kinds)
    ours = toml_of(resources.text("shared/phrases/en.toml"))
    lines = ['language = "en"', "[numbers]"]
    lines += [f"{name} = {_toml(value)}" for name, value in ours["numbers"].items()]
    for name, values in slots.items():
        lines += [f"[choices.{name}]", *(f'"{value}" = ["{value}"]' for value in values)]
    lines += [f"[commands.{Order.name}]", 'help = "An order."', f"say = {_toml(data['forms'])}"]
    return read_phrases("\n".join(lines), vocabulary)


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(one)}" for key, one in value.items()) + " }"
    return json.dumps(value)


def recordings(folder: Path, half: str) -> list[tuple[str, Sentence]]:
    """Return the recordings of one half, or of both, each with what it says."""
    labels: dict[str, Any] = json.loads((folder / "labels.json").read_text(encoding="utf-8"))
    names = sorted(labels)
    chosen = {"tuned": names[::2], "held": names[1::2], "all": names}[half]
    found = []
    for name in chosen:
        slots = {slot: str(value).strip() for slot, value in labels[name]["slots"].items()}
        means = cast("Command | Talk", Order(**slots))
        found.append((name, Sentence(" ".join([name[:8], *slots.values()]), means)))
    return found


def clips(
    folder: Path, which: Sequence[tuple[str, Sentence]], kitchen: Path | None, snr: float | None
) -> Iterator[Clip]:
    """Yield the recordings in a room: quiet, or in a kitchen at a ratio in dB."""
    for number, (name, one) in enumerate(which):
        speech = recorded(folder / name)
        speech = np.asarray(speech * (SPEECH_RMS / loud_rms(speech)), dtype=np.float32)
        dice = np.random.default_rng(number)
        lead, tail = round(LEAD_S * RATE), round(TAIL_S * RATE)
        room = pink(lead + len(speech) + tail, dice) * ROOM_RMS
        room[lead : lead + len(speech)] += speech
        if snr is not None and kitchen is not None:
            noise = recorded(kitchen)
            at = int(dice.integers(0, len(noise)))
            cut = np.take(noise, np.arange(at, at + len(room)), mode="wrap")
            level = SPEECH_RMS * 10 ** (-snr / 20) / float(np.sqrt(np.mean(cut**2)))
            room = np.asarray(room + level * cut, dtype=np.float32)
        yield Voice(name[:8], "people", ""), one, room, LEAD_S + len(speech) / RATE


def main() -> None:
    """Measure and print one table."""
    options = _options()
    if options.orders is None:
        print("no recordings named (--orders FOLDER or WALESONG_ORDERS): nothing is measured")
        return
    hearer = Walesong(VoskModel(resources.model_folder()), book_of(options.orders))
    which = recordings(options.orders, options.half)[:: options.share]
    print(f"settings {settings_hash()}, {len(which)} recordings ({options.half})")
    print(
        f"{'':22} {'people':6} {'noise':11} clips  right % (95 % bounds)  wrong % asked % ", end=""
    )
    print("delay s p95  share of a core")
    ratios = [float(one) for one in options.snr.split(",")] if options.kitchen else []
    conditions = [*([] if options.no_clean else [None]), *ratios]
    for snr in conditions:
        name = "as it is" if snr is None else f"kitchen_{snr:g}"
        made = clips(options.orders, which, options.kitchen, snr)
        score: Score = measure(hearer, options.half, name, made)
        print(score.line(), flush=True)
        if options.errors:
            print(*score.errors, sep="\n")
    print(PUBLISHED)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--orders", type=Path, default=os.environ.get("WALESONG_ORDERS"))
    parser.add_argument("--kitchen", type=Path, default=os.environ.get("WALESONG_KITCHEN"))
    parser.add_argument("--snr", default="12,6", help="ratios in dB, with commas between")
    parser.add_argument("--half", choices=["tuned", "held", "all"], default="all")
    parser.add_argument("--share", type=int, default=1, help="every so many recordings")
    parser.add_argument("--no-clean", action="store_true")
    parser.add_argument("--errors", action="store_true", help="list what was not taken rightly")
    options = parser.parse_args()
    options.orders = Path(options.orders) if options.orders else None
    options.kitchen = Path(options.kitchen) if options.kitchen else None
    return options


if __name__ == "__main__":
    main()
