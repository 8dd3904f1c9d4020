"""Bad input: one sentence on standard error that says what is wrong and what helps.

The exit code is not zero, and no file is made or changed.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import struct
import subprocess
import sys
from contextlib import closing
from typing import TYPE_CHECKING, TypeAlias

import pytest

from app import resources
from app.command_line import main
from app.pieces.journal_files import read_journal
from engine.journal.sqlite import SqliteJournal
from tests.made_up import knitted
from tests.product import PRACTICE, bare, command, lines, run

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


Case: TypeAlias = "tuple[list[str | Path], int, str]"
"""The command line, the exit code, and a part of the sentence."""

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="made with the means of POSIX systems")
PATTERN = resources.path("shared/patterns/mug-sleeve.toml")

# --- bad input -----------------------------------------------------------------------------------


def wav(code: int = 1, channels: int = 1, rate: int = 16_000, bits: int = 16) -> bytes:
    """Return a WAV file with a tenth of a second of silence, as its header says."""
    width = channels * bits // 8
    header = struct.pack("<HHIIHH", code, channels, rate, rate * width, width, bits)
    sound = bytes(rate // 10 * width)
    size = struct.pack("<I", 36 + len(sound))
    chunks = (b"RIFF", size, b"WAVEfmt ", struct.pack("<I", 16), header, b"data")
    return b"".join((*chunks, struct.pack("<I", len(sound)), sound))


@pytest.fixture
def place(tmp_path: Path, model_folder: Path) -> Path:
    """Return a folder with everything in it that a user may name by mistake."""
    place = tmp_path / "place"
    place.mkdir()
    (place / "empty folder").mkdir()
    damaged = place / "damaged model"
    shutil.copytree(model_folder, damaged, copy_function=os.symlink)
    scorer = (model_folder / "am" / "final.mdl").read_bytes()
    (damaged / "am" / "final.mdl").unlink()
    (damaged / "am" / "final.mdl").write_bytes(scorer[:1000] + b"?" + scorer[1001:])
    half = place / "half a model"
    shutil.copytree(model_folder, half, copy_function=os.symlink)
    (half / "graph" / "Gr.fst").unlink()
    sounds = {
        "letter.wav": b"Dear hut crew, the sleeves are done.\n",
        "empty.wav": b"",
        "header only.wav": wav()[:44],
        "cut in the header.wav": wav()[:20],
        "compressed.wav": wav(code=6, bits=8),
        "too fast.wav": wav(rate=96_000),
        "too many.wav": wav(channels=6),
    }
    for name, content in sounds.items():
        (place / name).write_bytes(content)
    patterns = {
        "not toml.toml": 'title = "Mug sleeve"\nrows 1 to 4 in rib\n',
        "words.txt": "row done\n",
    }
    for name, text in patterns.items():
        (place / name).write_text(text, encoding="utf-8")
    (place / "latin.txt").write_bytes("reihe zur\xfcck\n".encode("latin-1"))
    with SqliteJournal.open(place / "newer.walesong") as journal:
        journal.append(knitted(3))
    with closing(sqlite3.connect(place / "newer.walesong")) as database:
        database.execute("PRAGMA user_version = 99")
    with SqliteJournal.open(place / "damaged.walesong") as journal:
        journal.append(knitted(3))
    whole = (place / "damaged.walesong").read_bytes()
    (place / "damaged.walesong").write_bytes(bytes([whole[0] ^ 1]) + whole[1:])
    return place


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder with its content, links as they are."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.is_symlink()
    }


HEAR: dict[str, Case] = {
    "model missing": (["hear", "--model", "nowhere", PRACTICE], 3, "no speech model in 'nowhere'"),
    "model folder empty": (["hear", "--model", "empty folder", PRACTICE], 3, "lacks its file"),
    "model is a file": (["hear", "--model", "letter.wav", PRACTICE], 3, "no speech model in"),
    "model damaged": (["hear", "--model", "damaged model", PRACTICE], 3, "is damaged"),
    "model in part": (["hear", "--model", "half a model", PRACTICE], 3, "lacks its file"),
    "model missing, knitting": (
        ["knit", "--from", PRACTICE, "--fast", "--model", "nowhere", "--journal", "new.walesong"],
        3,
        "no speech model in 'nowhere'",
    ),
    "model damaged, plain": (
        ["--terminal", "--practice", "--fast", "--model", "damaged model"],
        3,
        "is damaged",
    ),
    "text": (["knit", "--from", "letter.wav"], 3, "not a WAV file"),
    "empty": (["knit", "--from", "empty.wav"], 3, "is empty"),
    "header only": (["knit", "--from", "header only.wav"], 3, "no sound"),
    "header cut": (["knit", "--from", "cut in the header.wav"], 3, "cut short"),
    "compressed": (["knit", "--from", "compressed.wav"], 3, "compressed"),
    "rate": (["knit", "--from", "too fast.wav"], 3, "96000 samples a second"),
    "channels": (["knit", "--from", "too many.wav"], 3, "6 channels"),
    "no recording": (["knit", "--from", "nowhere.wav"], 3, "nowhere.wav"),
    "folder for recording": (["knit", "--from", "empty folder"], 3, "empty folder"),
}

TYPED: list[str | Path] = ["knit", "--journal", "new.walesong", "--typed", "words.txt"]
PATTERNS: dict[str, Case] = {
    "pattern not toml": ([*TYPED, "--pattern", "not toml.toml"], 1, "not toml.toml:2:6: "),
    "pattern missing": ([*TYPED, "--pattern", "nowhere.toml"], 3, "nowhere.toml"),
    "pattern a folder": ([*TYPED, "--pattern", "empty folder"], 3, "empty folder"),
    "pattern not text": ([*TYPED, "--pattern", "latin.txt"], 3, "latin.txt is not a text"),
    "size unknown": ([*TYPED, "--pattern", PATTERN, "--size", "giant"], 2, "no size 'giant'"),
    "size without a pattern": ([*TYPED, "--size", "giant"], 2, "--pattern FILE"),
    "swatch the wrong way round": (
        [*TYPED, "--pattern", PATTERN, "--swatch", "28x20"],
        2,
        "Is it the other way round?",
    ),
    "swatch that cannot be": (
        [*TYPED, "--pattern", PATTERN, "--unwashed", "200x2"],
        2,
        "cannot be of one swatch",
    ),
}
WORDS: dict[str, Case] = {
    "words missing": (["knit", "--typed", "nowhere.txt"], 3, "nowhere.txt"),
    "words a folder": (["knit", "--typed", "empty folder"], 3, "empty folder"),
    "words not text": (["knit", "--typed", "latin.txt"], 3, "latin.txt is not a text"),
}


def _journal(name: str | Path) -> list[str | Path]:
    return ["knit", "--typed", "words.txt", "--journal", name]


JOURNALS: dict[str, Case] = {
    "journal in no folder": (_journal("nowhere/new.walesong"), 4, 'no folder "nowhere"'),
    "journal a text": (_journal("words.txt"), 4, '"words.txt" is not a journal'),
    "journal a sound": (_journal(PRACTICE), 4, "is not a journal"),
    "journal a folder": (_journal("empty folder"), 4, '"empty folder" is a folder'),
    "journal newer": (_journal("newer.walesong"), 4, "written by a newer Walesong"),
    "journal damaged": (_journal("damaged.walesong"), 4, "damaged"),
    "replay nothing": (["replay", "nowhere.walesong"], 4, "nowhere.walesong"),
    "replay a text": (["replay", "words.txt"], 4, '"words.txt" is not a journal'),
    "replay newer": (["replay", "newer.walesong"], 4, "written by a newer Walesong"),
    "replay damaged": (["replay", "damaged.walesong"], 4, "damaged"),
}
CASES: dict[str, Case] = {**HEAR, **PATTERNS, **WORDS, **JOURNALS}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_bad_input(
    case: Case,
    place: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """One sentence with reason and remedy, the documented exit code, and nothing is touched."""
    arguments, code, part = case
    monkeypatch.chdir(place)
    before = contents(place)
    assert main([str(one) for one in arguments]) == code
    said = capsys.readouterr()
    told = said.err.strip()
    assert part in told
    first = told.splitlines()[0]
    assert first.endswith((".", ")")), "a sentence has an end"
    assert len(first) < 400
    if code != 1:  # a pattern may have several problems, each with its place
        assert told.splitlines() == [first]
        assert first.startswith("walesong")
    assert "Traceback" not in said.err
    assert contents(place) == before


@pytest.mark.model
def test_a_cut_recording_is_heard_as_far_as_it_goes(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The commands before the cut are there; a bad file beside it is told and changes nothing."""
    cut = place / "cut.wav"
    cut.write_bytes(PRACTICE.read_bytes()[:200_000])
    assert main(["hear", str(place / "letter.wav"), str(cut)]) == 3
    said = capsys.readouterr()
    assert "“row done”" in said.out
    assert "“three rows done”" in said.out
    assert said.err.count("\n") == 1
    assert "letter.wav" in said.err


# --- disks ---------------------------------------------------------------------------------------


@pytest.fixture
def environment(product_environment: dict[str, str]) -> dict[str, str]:
    """Return the environment of a bare server."""
    return bare(product_environment)


def _without_rights() -> list[str]:
    """Return the command that takes root's right to write anywhere, or [] for everybody else."""
    if os.geteuid() != 0:
        return []
    if shutil.which("setpriv") is None:
        pytest.skip("root may write anywhere, and there is no setpriv here to take that away")
    return ["setpriv", "--bounding-set=-dac_override,-dac_read_search", "--inh-caps=-all"]


@POSIX
def test_a_read_only_folder(environment: Mapping[str, str], tmp_path: Path) -> None:
    """Neither a new journal nor one that is there can be knitted into; it can be replayed."""
    folder = tmp_path / "card"
    folder.mkdir()
    with SqliteJournal.open(folder / "hut.walesong") as journal:
        journal.append(knitted(3))
    (folder / "hut.walesong").chmod(0o444)
    folder.chmod(0o555)
    before = contents(folder)
    prefix = _without_rights()
    try:
        for name in ("new.walesong", "hut.walesong"):
            arguments = ("knit", "--typed", "--journal", folder / name)
            done = run(*arguments, env=environment, typed="row done", prefix=prefix)
            assert (done.returncode, done.stdout) == (4, "")
            assert "Allow writing there" in done.stderr
            assert done.stderr.count("\n") == 1
        replayed = run("replay", folder / "hut.walesong", env=environment, prefix=prefix)
    finally:
        folder.chmod(0o755)
    assert replayed.returncode == 0
    assert "mug sleeve: 3 rows done" in replayed.stdout
    assert contents(folder) == before


@POSIX
def test_a_home_that_may_not_be_written(environment: dict[str, str], tmp_path: Path) -> None:
    """Where the usual folder for journals cannot be made, that is one sentence too."""
    home = tmp_path / "home"
    home.mkdir()
    home.chmod(0o555)
    moved = {**environment, "HOME": str(home), "XDG_DATA_HOME": str(home / "data")}
    try:
        done = run("knit", "--typed", env=moved, typed="row done", prefix=_without_rights())
    finally:
        home.chmod(0o755)
    assert (done.returncode, done.stdout) == (4, "")
    assert done.stderr.count("\n") == 1
    assert "choose another place for the journal" in done.stderr


def _limit_files() -> None:
    """Have the system refuse to let any file of this process grow beyond 80 kB."""
    import resource  # noqa: PLC0415 (POSIX only)

    resource.setrlimit(resource.RLIMIT_FSIZE, (80_000, 80_000))


SMALL_DISK = """
mount -t tmpfs -o size=300k tmpfs "$0" || exit 77
"$@"
code=$?
cp -r "$0"/full.walesong* "$0/../kept" || exit 78
exit $code
"""


@POSIX
@pytest.mark.parametrize(
    ("disk", "remedy"), [("of memory", "Free some space"), ("with a limit", "make a backup")]
)
def test_a_full_disk(
    environment: Mapping[str, str], tmp_path: Path, disk: str, remedy: str
) -> None:
    """From the full disk on every command is refused in a sentence; what was answered is kept."""
    (tmp_path / "card").mkdir()
    kept_in = tmp_path / "kept"
    kept_in.mkdir()
    small = disk == "of memory"
    prefix = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c", SMALL_DISK]
    journal = (tmp_path / "card" if small else kept_in) / "full.walesong"
    walesong = command("knit", "--typed", "--json", "--journal", journal)
    if small and shutil.which("unshare") is None:
        pytest.skip("this system has no unshare")
    done = subprocess.run(
        [*prefix, str(journal.parent), *walesong] if small else walesong,
        env=dict(environment),
        input="".join(
            f"take a note\n{'the edge is loose ' * 800}{n}\nrow done\n" for n in range(12)
        ),
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
        preexec_fn=None if small else _limit_files,
    )
    if done.returncode in {1, 77}:
        pytest.skip("this system does not let a user mount a disk of memory")
    printed = lines(done.stdout)
    assert len(printed) == 36, "it went on to the end"
    refused = [one for one in printed if one["trouble"]]
    assert refused
    for one in refused:
        assert remedy in one["trouble"]
        assert (one["written"], one["accepted"]) == ([], False)
    assert done.returncode == 4
    assert done.stderr.count("\n") == 1
    assert remedy in done.stderr
    kept = kept_in / "full.walesong"
    kinds = [record.event.kind for record in read_journal(kept)]
    written = [kind for one in printed for kind in one["written"]]
    assert kinds[kinds.index("piece_begun") + 1 :] == written
    again = run("knit", "--typed", "--json", "--journal", kept, env=environment, typed="row done")
    assert again.returncode == 0
    assert lines(again.stdout)[0]["done"] == printed[-1]["done"] + 1


@pytest.mark.parametrize(
    "words",
    ["done -5", "measure -7 cm", "i count \N{MINUS SIGN}50 stitches", "done #5", "- 5 rows done"],
)
def test_a_sign_before_a_typed_number_changes_nothing(
    words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is typed with a minus or another sign is refused in a sentence; no row is counted."""
    typed, journal = tmp_path / "words.txt", tmp_path / "j.walesong"
    typed.write_text(f"row done # the first\n# a remark\n{words}\nyes\n", encoding="utf-8")
    assert main(["knit", "--typed", str(typed), "--journal", str(journal)]) == 0
    kinds = [record.event.kind for record in read_journal(journal)]
    assert kinds == ["pattern_kept", "piece_begun", "rows_worked"]
    assert "less than none" in capsys.readouterr().out or "#" in words
