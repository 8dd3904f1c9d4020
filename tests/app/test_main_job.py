"""The main job on real parts: a recording is played in, and the piece is knitted, row by row.

Every test here starts the product as a process of its own and hears through the real speech model.
What has to come out stands in the script beside the practice recording.
"""

from __future__ import annotations

import os
import random
import signal
import struct
import time
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import soundfile
from scipy.signal import resample_poly

from engine.history import fold
from engine.journal.sqlite import SqliteJournal
from tests.product import PRACTICE, bare, lines, run, start
from tests.sessions import payloads, script

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from engine.records import Record

pytestmark = pytest.mark.model


@dataclass(frozen=True)
class Session:
    """What a finished session printed and what it left in its journal."""

    printed: list[dict[str, Any]]
    records: tuple[Record, ...]


def read(journal: Path) -> tuple[Record, ...]:
    """Return the records of a journal in their order."""
    with SqliteJournal.open_to_read(journal) as opened:
        return opened.records()


@pytest.fixture(scope="module")
def environment(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Return the environment of a bare server, with a home of its own."""
    home = tmp_path_factory.mktemp("home")
    kept = {name: value for name, value in os.environ.items() if "KIVY" not in name}
    kept.pop("SDL_VIDEODRIVER", None)
    return bare({**kept, "HOME": str(home), "XDG_DATA_HOME": str(home / "data")})


@pytest.fixture(scope="module")
def heard(environment: Mapping[str, str], tmp_path_factory: pytest.TempPathFactory) -> Session:
    """Knit the practice recording."""
    journal = tmp_path_factory.mktemp("heard") / "j.walesong"
    done = run(
        "knit", "--from", PRACTICE, "--fast", "--json", "--journal", journal, env=environment
    )
    assert (done.returncode, done.stderr) == (0, "")
    return Session(lines(done.stdout), read(journal))


@pytest.fixture(scope="module")
def typed(environment: Mapping[str, str], tmp_path_factory: pytest.TempPathFactory) -> Session:
    """Type what the knitter says in the practice recording."""
    journal = tmp_path_factory.mktemp("typed") / "j.walesong"
    words = "\n".join(line.says for line in script() if line.by_knitter)
    done = run("knit", "--typed", "--json", "--journal", journal, env=environment, typed=words)
    assert (done.returncode, done.stderr) == (0, "")
    return Session(lines(done.stdout), read(journal))


# --- the practice recording ----------------------------------------------------------------------


def test_exactly_the_knitter_s_lines_are_understood(heard: Session) -> None:
    """Every line of the knitter is heard word for word and in order; of the others, not one is."""
    understood = [(one["why"] is None, one["words"]) for one in heard.printed]
    told = [
        (accepted, [words for _, words in group] if accepted else [])
        for accepted, group in groupby(understood, key=lambda one: one[0])
    ]
    wanted = [
        (by_knitter, [line.says for line in group] if by_knitter else [])
        for by_knitter, group in groupby(script(), key=lambda line: line.by_knitter)
    ]
    assert told == wanted


def test_what_is_acted_on_is_what_was_said(heard: Session) -> None:
    """Each command that was not asked about has the name and the values of its line."""
    wanted = [line.meant for line in script() if line.by_knitter]
    said = [one for one in heard.printed if one["why"] is None]
    # "yes" confirms the command that was asked about, and is printed as that command.
    for one, (name, values) in zip(said, wanted, strict=True):
        if name == "yes":
            assert one["command"] != "yes"
        elif one["command"] is not None:
            assert (one["command"], one["details"]) == (name, values)
        else:
            assert one["question"], f"{one['words']} was neither done nor asked about"


def test_the_journal_ends_as_knitted(heard: Session) -> None:
    """Rows, lengths, counts, notes and the end of the piece are those that the script tells."""
    state = fold(heard.records)
    assert (state.done, state.finished) == (23, True)
    lengths = [(one.row, str(one.length)) for one in state.lengths if not one.aside]
    assert lengths == [(10, "3.5 cm"), (18, "6.5 cm")]
    counts = [(one.row, one.count, one.expected) for one in state.counts if not one.aside]
    assert counts == [(12, 49, 50), (12, 50, 50)]
    assert [after for _, after in state.ended] == [18]
    kinds = [record.event.kind for record in heard.records]
    assert kinds.count("undone") == 1
    assert kinds.count("ripped_back") == 1
    assert kinds.count("hand_noted") == 1


def test_each_printed_row_count_is_that_of_the_journal(heard: Session) -> None:
    """What the terminal shows after each command is what the records up to it fold into."""
    shown = 0
    casting_on = next(
        number for number, one in enumerate(heard.records, 1) if one.event.kind == "piece_begun"
    )
    written = casting_on
    for one in heard.printed:
        kinds = [r.event.kind for r in heard.records[written : written + len(one["written"])]]
        assert kinds == one["written"]
        written += len(one["written"])
        state = fold(heard.records[:written])
        assert (one["done"], one["working"]) == (state.done, state.working)
        shown += 1
    assert written == len(heard.records)
    assert shown == len(heard.printed)


def test_typed_words_leave_the_same_journal_as_the_voice(heard: Session, typed: Session) -> None:
    """Event for event, the payloads are the same; only the way by which they came differs."""
    assert payloads(heard.records) == payloads(typed.records)
    sources = {record.source.value for record in heard.records} - {"key"}
    assert sources == {"voice"}
    assert {record.source.value for record in typed.records} - {"key"} == {"typed"}


def test_typed_words_are_answered_as_the_voice_is(heard: Session, typed: Session) -> None:
    """The replies are the same too."""
    by_voice = [one["replies"] for one in heard.printed if one["why"] is None]
    assert by_voice == [one["replies"] for one in typed.printed]


def test_a_bare_server_shows_the_whole_job(environment: Mapping[str, str], tmp_path: Path) -> None:
    """Without display and microphone it knits the recording, sums up and draws the board."""
    journal = tmp_path / "bare.walesong"
    done = run("--terminal", "--practice", "--fast", "--journal", journal, env=environment)
    assert (done.returncode, done.stderr) == (0, "")
    said = done.stdout
    for part in (
        "knits in the terminal",
        "Listening to the recording mug-sleeve.wav, as fast as it goes.",
        f"The work is kept in {journal}.",
        "“three rows done”",
        "4 done.",
        "Not a whole command.",
        "Mug sleeve: 23 rows done",
        "last measured 6.5 cm after row 18",
        "last counted 50 stitches after row 12: right",
        "24 commands understood, 5 utterances not for us",
    ):
        assert part in said
    picture = journal.with_name("practice-board.png").read_bytes()
    assert picture.startswith(b"\x89PNG")
    width, height = struct.unpack(">II", picture[16:24])
    assert width >= 640
    assert height >= 400
    replayed = run("replay", journal, env=environment)
    assert replayed.stdout.startswith("Mug sleeve: 23 rows done, finished")


# --- walesong hear -------------------------------------------------------------------------------

FIELDS: dict[str, type | tuple[type, ...]] = {
    "file": str,
    "start_s": float,
    "end_s": float,
    "decided_s": float,
    "compute_s": float,
    "words": str,
    "accepted": bool,
    "command": (str, type(None)),
    "value": object,
    "why": (str, type(None)),
}
"""What every utterance of `walesong hear --json` has, and of which kind it is."""

EXCERPT_S = (12.5, 29.5)
"""A part of the practice recording with a number, a length and a question."""
IN_EXCERPT = ["rows_done", "which_row", "rows_done", "measure", "yes", "how_far"]


@pytest.fixture(scope="module")
def formats(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return an excerpt of the practice recording in every form that a recorder may leave it in."""
    folder = tmp_path_factory.mktemp("formats")
    sound, rate = soundfile.read(PRACTICE, dtype="float64")
    excerpt = sound[round(EXCERPT_S[0] * rate) : round(EXCERPT_S[1] * rate)]
    wanted: dict[str, tuple[int, int, str, str]] = {
        "telephone": (8_000, 1, "PCM_16", "WAV"),
        "half of a disc": (22_050, 1, "PCM_U8", "WAV"),
        "disc": (44_100, 2, "PCM_16", "WAV"),
        "studio": (48_000, 2, "PCM_24", "WAVEX"),
        "thirty-two bit": (32_000, 1, "PCM_32", "WAVEX"),
        "float": (11_025, 1, "FLOAT", "WAV"),
    }
    made = {}
    for name, (to, channels, subtype, container) in wanted.items():
        common = np.gcd(to, rate)
        samples = resample_poly(excerpt, to // common, rate // common)
        made[name] = folder / f"{name}.wav"
        many = np.repeat(samples[:, None], channels, axis=1)
        soundfile.write(made[name], many, to, subtype=subtype, format=container)
    made["one ear"] = folder / "one ear.wav"  # a stereo recorder with one microphone plugged in
    both = np.stack([excerpt, np.zeros_like(excerpt)], axis=1)
    soundfile.write(made["one ear"], both, rate, subtype="PCM_16")
    return made


@pytest.fixture(scope="module")
def utterances(
    formats: Mapping[str, Path], environment: Mapping[str, str]
) -> dict[str, list[dict[str, Any]]]:
    """Return what is understood in each of the forms, by the name of the form."""
    done = run("hear", "--json", "--asked", *formats.values(), env=environment)
    assert (done.returncode, done.stderr) == (0, "")
    found = lines(done.stdout)
    return {
        name: [one for one in found if one["file"] == str(path)] for name, path in formats.items()
    }


def test_every_form_of_recording_gives_the_same_commands(
    utterances: Mapping[str, Sequence[Mapping[str, Any]]],
) -> None:
    """Whatever rate, width, channels and header, the same is understood; by telephone no less.

    The one short answer may be refused there: half of what tells it from other words is cut off.
    """
    found = {
        name: [(one["command"], one["value"]) for one in said if one["accepted"]]
        for name, said in utterances.items()
    }
    first = found["disc"]
    assert [name for name, _ in first] == IN_EXCERPT
    assert [value for _, value in first] == [1, None, 5, {"value": 3.5, "unit": "cm"}, None, None]
    by_telephone = found.pop("telephone")
    assert by_telephone in (first, [one for one in first if one[0] != "yes"])
    assert found == dict.fromkeys(found, first)


def test_utterances_are_described_as_documented(
    utterances: Mapping[str, Sequence[Mapping[str, Any]]],
) -> None:
    """Every object has its fields, of their kind; times are in order and within the recording."""
    said = utterances["studio"]
    for one in said:
        for name, kind in FIELDS.items():
            assert isinstance(one[name], kind), name
        assert 0 <= one["start_s"] < one["end_s"] < one["decided_s"]
        assert one["decided_s"] <= EXCERPT_S[1] - EXCERPT_S[0] + 1.0
        assert 0 < one["compute_s"] < 5
        assert one["accepted"] is (one["command"] is not None) is (one["why"] is None)
    begins = [one["start_s"] for one in said]
    assert begins == sorted(begins)


def test_a_refused_utterance_says_why(environment: Mapping[str, str], tmp_path: Path) -> None:
    """Talk of others has no command, no value, and a sentence that says why; nothing is kept."""
    sound, rate = soundfile.read(PRACTICE, dtype="int16")
    path = tmp_path / "cook.wav"
    soundfile.write(path, sound[: round(10.2 * rate)], rate)
    done = run("hear", "--json", path, env=environment)
    said = lines(done.stdout)
    assert [one["accepted"] for one in said[:3]] == [True, True, False]
    for one in said[2:]:
        assert (one["accepted"], one["command"], one["value"]) == (False, None, None)
        assert one["why"].endswith(".")
    printed = run("hear", path, env=environment).stdout
    assert "✓ “three rows done”" in printed
    assert said[2]["why"] in printed
    assert [file.name for file in tmp_path.iterdir()] == ["cook.wav"]


# --- killed --------------------------------------------------------------------------------------


def _killed(
    arguments: Sequence[str | Path], environment: Mapping[str, str], after: int, wait_s: float
) -> list[dict[str, Any]]:
    """Start a session, kill it a moment after so many lines, and return all it had printed."""
    with start(*arguments, env=environment) as session:
        assert session.stdout is not None
        said = "".join(session.stdout.readline() for _ in range(after))
        time.sleep(wait_s)
        session.send_signal(signal.SIGKILL)
        said += session.stdout.read()
    assert session.returncode == -signal.SIGKILL
    return lines(said)


def _check_killed(
    printed: Sequence[Mapping[str, Any]], journal: Path, environment: Mapping[str, str]
) -> None:
    """Assert that nothing that was printed is missing, and that the work is taken up exactly."""
    records = read(journal)
    casting_on = [record.event.kind for record in records].index("piece_begun") + 1
    written = [kind for one in printed for kind in one["written"]]
    kinds = [record.event.kind for record in records[casting_on:]]
    assert kinds[: len(written)] == written
    shown = fold(records[: casting_on + len(written)])
    assert (shown.done, shown.working) == (printed[-1]["done"], printed[-1]["working"])
    state = fold(records)  # perhaps one command more, written and not yet shown
    done = run(
        *("knit", "--typed", "--json", "--journal", journal),
        env=environment,
        typed="which row now\nrow done\n",
    )
    which, row = lines(done.stdout)
    assert (which["done"], which["working"]) == (state.done, state.working)
    assert str(state.working) in which["replies"][0]
    assert row["done"] == state.done + 1
    assert len({record.piece for record in read(journal)}) == 1


def test_killed_at_any_moment_nothing_shown_is_lost(
    environment: Mapping[str, str], tmp_path: Path
) -> None:
    """Sessions are killed at random moments; each printed line is on disk and work goes on."""
    dice = random.Random(2026)
    for number in range(2):
        journal = tmp_path / f"{number}.walesong"
        arguments = ("knit", "--from", PRACTICE, "--fast", "--json", "--journal", journal)
        printed = _killed(arguments, environment, dice.randint(1, 22), dice.uniform(0, 0.15))
        _check_killed(printed, journal, environment)


def test_killed_at_the_pace_of_life(environment: Mapping[str, str], tmp_path: Path) -> None:
    """The same while the recording is played at its own pace, in the middle of an utterance."""
    journal = tmp_path / "paced.walesong"
    begun = time.monotonic()
    arguments = ("knit", "--from", PRACTICE, "--silent", "--json", "--journal", journal)
    printed = _killed(arguments, environment, 2, 1.0)
    assert time.monotonic() - begun > 5.0, "the recording was not played at its own pace"
    assert [one["words"] for one in printed][:2] == ["row done", "three rows done"]
    _check_killed(printed, journal, environment)
