"""What hearing costs: loading the model, memory, and the share of one core while it listens.

python bench/decoder_bench.py
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np
import psutil

from app import resources
from speech.hearing.acceptance import Acceptance
from speech.hearing.events import Heard
from speech.hearing.gate import Gate, GateSettings
from speech.hearing.model_folder import check_model
from speech.hearing.sound import RATE, read_wav
from speech.hearing.vosk_decoder import VoskModel
from speech.words.phrases import read_phrases
from speech.words.sampler import read_fillers

RECORDINGS = Path(__file__).resolve().parent.parent / "tests" / "speech" / "recordings"
TIMES = 20


def main() -> None:
    """Measure and print a line each."""
    process = psutil.Process()
    begun = time.perf_counter()
    check_model(resources.model_folder())
    print(f"model checked file by file     {time.perf_counter() - begun:8.3f} s")
    begun = time.perf_counter()
    model = VoskModel(resources.model_folder())
    print(f"model loaded, check included   {time.perf_counter() - begun:8.3f} s")
    begun = time.perf_counter()
    book = read_phrases(resources.text("shared/phrases/en.toml"))
    fillers = read_fillers(resources.text("shared/phrases/filler.en.txt"))
    acceptance = Acceptance(model, book, fillers)
    print(f"phrases read, decoders made    {time.perf_counter() - begun:8.3f} s")
    print(f"memory, ready to listen        {process.memory_info().rss >> 20:8d} MB")

    sounds = [read_wav(path.read_bytes()).samples for path in sorted(RECORDINGS.glob("*.wav"))]
    sound = np.concatenate(sounds * TIMES)
    begun_cpu, heard = time.process_time(), 0
    for at in range(0, len(sound), 800):
        heard += sum(isinstance(e, Heard) for e in acceptance.feed(sound[at : at + 800]))
    share = (time.process_time() - begun_cpu) / (len(sound) / RATE)
    print(f"share of a core, one sentence after another {share:.3f} ({heard} heard)")

    quiet = np.random.default_rng(1).standard_normal(RATE * 60).astype(np.float32) * 1e-3
    begun_cpu = time.process_time()
    for at in range(0, len(quiet), 800):
        acceptance.feed(quiet[at : at + 800])
    print(f"share of a core, nobody speaks {(time.process_time() - begun_cpu) / 60:8.3f}")

    gate = Gate(GateSettings())
    begun_cpu = time.process_time()
    for at in range(0, len(quiet), 800):
        gate.feed(quiet[at : at + 800])
        gate.segment()
    print(f"of which the gate              {(time.process_time() - begun_cpu) / 60:8.3f}")
    print(f"memory at the end              {process.memory_info().rss >> 20:8d} MB")


if __name__ == "__main__":
    main()
