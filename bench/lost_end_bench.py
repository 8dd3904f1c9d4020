"""What becomes of a sentence whose last sound is lost: cut at its end, heard, judged by the piece.

    python bench/lost_end_bench.py [--voices tuned|held] [--cuts 60,130,200] [--share N] [--errors]

Voices say numbers that lose a word at a soft end; the end is cut off by so many milliseconds, in a
quiet room. The row that is meant is the one being worked, the stitches are those on the needle.
Printed is what comes of it, without the prior of `engine.judging.plausible.with_lost_end` and with
it: right, wrong (another thing would be written), asked (the right one is asked about), or neither.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from app import resources
from app.pieces.casting_on import new_piece
from app.pieces.pattern_cache import course_of
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.conversation import Conversation
from bench.noise import in_room
from bench.speech_bench import Walesong, settings_hash, standing
from bench.voices import HELD_APART, RATE, TUNED_ON, speak
from engine.commands import Command, Recount, Source
from engine.journal.memory import MemoryJournal
from engine.judging.decide import decide
from engine.judging.decision import Accepted, Doubt, Question
from engine.talk import Yes
from speech.hearing.vosk_decoder import VoskModel
from speech.words.numbers import say_whole
from speech.words.phrases import read_phrases
from speech.words.understand import understand

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.judging.decision import Decision
    from engine.pattern import Course
    from engine.state import PieceState

ROWS = (94, 71, 17, 46, 123, 34)
FORMS = ("mistake in row {}", "note on row {}", "really on row {}", "row {} done")
OTHERS = ("i count fifty four stitches", "tinking this row")
"""The bottle sleeve has so many stitches."""
OUTCOMES = ("right", "wrong", "asked", "neither")


def piece_at(row: int) -> tuple[PieceState, Course]:
    """Return a piece on which a row is being worked, and its pattern."""
    new = new_piece(resources.text("shared/patterns/bottle-sleeve.toml"), None)
    assert isinstance(new, NewPiece)
    talk = Conversation.begin(MemoryJournal(), new, SetClock())
    talk.hear((Recount(row),), Source.TYPED)
    talk.hear((Yes(),), Source.TYPED)
    assert talk.state.working == row
    return talk.state, course_of(talk.state)


def outcome(decision: Decision | None, truth: Decision, means: Command) -> str:
    """Return what came of what was heard; `truth` is the decision on what was said."""
    if isinstance(decision, Accepted):
        return "right" if isinstance(truth, Accepted) and decision == truth else "wrong"
    question: object = decision.question if isinstance(decision, Doubt) else None
    while isinstance(question, Question):
        if question.yes == means:
            return "asked"
        question = question.otherwise
    return "neither"


def heard(hearer: Walesong, sentence: str, voice: int, cut_ms: int) -> tuple[Command, ...]:
    """Return what a sentence that is cut may have been, as it comes to be judged."""
    them = HELD_APART + TUNED_ON
    (speech,) = speak(them[voice], [sentence])
    answers = standing(hearer.hear(in_room(speech[: -cut_ms * RATE // 1000], "quiet", 1, None)))
    if answers:
        found: Sequence[object] = [one.said for one in answers]
    else:
        found = hearer.doubts[-1] if hearer.doubts else ()
    return tuple(one for one in found if isinstance(one, Command))


def main() -> None:
    """Measure and print one table."""
    options = _options()
    book = read_phrases(resources.text("shared/phrases/en.toml"))
    hearer = Walesong(VoskModel(resources.model_folder()), book)
    them = HELD_APART + TUNED_ON
    group = TUNED_ON if options.voices == "tuned" else HELD_APART
    voices = [at for at, one in enumerate(them) if one in group and one.there()]
    said = [(form.format(say_whole(row, book.numbers)), row) for form in FORMS for row in ROWS] + [
        (one, 20) for one in OTHERS
    ]
    print(f"settings {settings_hash()}, {', '.join(them[one].name for one in voices)}")
    print(f"{'cut':8} {'':14} {'  '.join(OUTCOMES)}")
    for cut_ms in (int(one) for one in options.cuts.split(",")):
        counts = {False: Counter[str](), True: Counter[str]()}
        for place, (sentence, row) in enumerate(said):
            state, course = piece_at(row)
            (means,) = (one for one in understand(sentence, book) if isinstance(one, Command))
            truth = decide(state, course, [means])
            for voice in voices[place % options.share :: options.share]:
                taken = heard(hearer, sentence, voice, cut_ms)
                for prior in (False, True):
                    decision = decide(state, course, taken, heard=prior) if taken else None
                    came = outcome(decision, truth, means)
                    counts[prior][came] += 1
                    if options.errors and came == "wrong":
                        name = "with" if prior else "without"
                        print(f"{them[voice].name}: {sentence} -> {taken} ({name} the prior)")
        for prior, name in ((False, "without prior"), (True, "with prior")):
            numbers = "  ".join(f"{counts[prior][one]:5}" for one in OUTCOMES)
            print(f"{cut_ms:4} ms  {name:14} {numbers}", flush=True)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--voices", choices=["tuned", "held"], default="held")
    parser.add_argument("--cuts", default="60,130,200", help="milliseconds, with commas between")
    parser.add_argument("--share", type=int, default=1, help="every so many voices")
    parser.add_argument("--errors", action="store_true", help="list what was wrong")
    return parser.parse_args()


if __name__ == "__main__":
    main()
