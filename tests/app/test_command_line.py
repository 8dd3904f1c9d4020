"""The `walesong` command as a user meets it: help, exit codes, pipes, interruptions."""

from __future__ import annotations

import argparse
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from app import wall
from app.command_line import COMMANDS, EXIT_CODES, main, parser
from app.pieces.journal_files import read_journal
from app.wiring import composition
from engine.history import fold
from tests.product import PRACTICE, bare, command, run, start
from tests.virtual_display import wait_until
from tests.virtual_microphone import MISSING, VirtualMicrophone, virtual_microphone

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from app.session.situation import Situation

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="made with the means of POSIX systems")


@pytest.fixture
def environment(product_environment: dict[str, str]) -> dict[str, str]:
    """Return the environment of a bare server."""
    return bare(product_environment)


# --- pipes, signs, interruptions -----------------------------------------------------------------

WORK = "row done\nthree rows done\nwhich row now\ntwo rows done\n"


@POSIX
@pytest.mark.parametrize("what", ["knit", "words"])
def test_a_reader_that_goes_away(environment: Mapping[str, str], tmp_path: Path, what: str) -> None:
    """`walesong ... | head` is no error, and what was shown has been kept."""
    journal = tmp_path / "j.walesong"
    arguments: dict[str, list[str | Path]] = {
        "knit": ["knit", "--typed", "--json", "--journal", journal],
        "words": ["words"],
    }
    with subprocess.Popen(
        command(*arguments[what]),
        env=dict(environment),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as walesong:
        assert walesong.stdin is not None
        assert walesong.stdout is not None
        assert walesong.stderr is not None
        if what == "knit":
            walesong.stdin.write("row done\n")
            walesong.stdin.flush()
        first = walesong.stdout.readline()
        walesong.stdout.close()
        if what == "knit":
            walesong.stdin.write(WORK * 20)
        walesong.stdin.close()
        errors = walesong.stderr.read()
        assert walesong.wait(30) == 0
    assert errors == ""
    assert first
    if what == "knit":
        assert fold(read_journal(journal)).done >= 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
@pytest.mark.parametrize("what", ["knit", "words"])
def test_output_into_a_full_disk(environment: Mapping[str, str], tmp_path: Path, what: str) -> None:
    """What cannot be printed is said in one sentence."""
    arguments: dict[str, list[str | Path]] = {
        "knit": ["knit", "--typed", "--journal", tmp_path / "j.walesong"],
        "words": ["words"],
    }
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            command(*arguments[what]),
            env=dict(environment),
            input=WORK,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 3
    assert done.stderr.count("\n") == 1
    assert "cannot be written (No space left" in done.stderr


@POSIX
def test_a_closed_keyboard(environment: Mapping[str, str], tmp_path: Path) -> None:
    """Without standard input there is nothing to type with; it says what to do instead."""
    journal = tmp_path / "j.walesong"
    line = ["sh", "-c", 'exec "$@" <&-', "sh"]
    done = run("knit", "--typed", "--journal", journal, env=environment, prefix=line)
    assert done.returncode == 3
    assert "name a file of words" in done.stderr
    assert not journal.exists()


def test_an_empty_keyboard_ends_in_order(environment: Mapping[str, str], tmp_path: Path) -> None:
    """Nothing typed is no mistake: the piece is greeted and left as it is."""
    journal = tmp_path / "j.walesong"
    done = run("knit", "--typed", "--journal", journal, env=environment, typed="")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Mug sleeve: 0 rows done" in done.stdout


def test_signs_that_a_terminal_does_not_know(
    environment: Mapping[str, str], tmp_path: Path
) -> None:
    """An old terminal gets a question mark for our quotation marks, never an error."""
    old = {**environment, "PYTHONIOENCODING": "latin-1"}
    words = tmp_path / "words.txt"
    words.write_text("row done\ntake a note\nça va très bien, ✓\n", encoding="utf-8")
    journal = tmp_path / "j.walesong"
    done = subprocess.run(
        command("knit", "--typed", words, "--journal", journal),
        env=old,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"?row done?" in done.stdout
    assert fold(read_journal(journal)).notes[-1].text == "ça va très bien, ✓"


def test_bytes_that_are_no_text(environment: Mapping[str, str], tmp_path: Path) -> None:
    """Typed bytes that are no text can neither stop the work nor spoil the journal."""
    journal = tmp_path / "j.walesong"
    done = subprocess.run(
        command("knit", "--typed", "--json", "--journal", journal),
        env={**environment, "LC_ALL": "C.UTF-8"},
        input=b"row done\ntake a note\nbad \xff\xfe\x00 bytes\n\xff\nrow done\n",
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    state = fold(read_journal(journal))
    assert state.done == 2
    assert "bytes" in (state.notes[-1].text or "")


@POSIX
def test_interrupted_while_typing(environment: Mapping[str, str], tmp_path: Path) -> None:
    """Ctrl-C ends with 130, sums up, and what was answered is kept."""
    journal = tmp_path / "j.walesong"
    with subprocess.Popen(
        command("knit", "--typed", "--journal", journal),
        env=dict(environment),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    ) as walesong:
        assert walesong.stdin is not None
        assert walesong.stdout is not None
        assert walesong.stderr is not None
        walesong.stdin.write("three rows done\n")
        walesong.stdin.flush()
        said = ""
        while "three rows done" not in said:
            said += walesong.stdout.readline()
        walesong.send_signal(signal.SIGINT)
        said += walesong.stdout.read()
        errors = walesong.stderr.read()
    assert (walesong.returncode, errors) == (130, "")
    assert "Mug sleeve: 3 rows done" in said
    assert fold(read_journal(journal)).done == 3


@POSIX
@pytest.mark.model
def test_interrupted_while_listening(environment: Mapping[str, str], tmp_path: Path) -> None:
    """The same in the middle of a recording that is played at its own pace."""
    journal = tmp_path / "j.walesong"
    arguments = ("knit", "--from", PRACTICE, "--silent", "--journal", journal)
    with start(*arguments, env=environment) as walesong:
        assert walesong.stdout is not None
        assert walesong.stderr is not None
        said = ""
        while "“row done”" not in said:
            said += walesong.stdout.readline()
        walesong.send_signal(signal.SIGINT)
        said += walesong.stdout.read()
        errors = walesong.stderr.read()
    assert (walesong.returncode, errors) == (130, "")
    assert "Mug sleeve: 1 row done" in said
    assert fold(read_journal(journal)).done == 1


# --- a microphone that goes ----------------------------------------------------------------------


@pytest.fixture
def spoken() -> bytes:
    """Return the first command of the practice recording, "row done", as raw samples."""
    return PRACTICE.read_bytes()[44:][: 16_000 * 2 * 3]


@POSIX
@pytest.mark.microphone
@pytest.mark.model
def test_a_microphone_that_is_pulled_out(
    product_environment: dict[str, str], tmp_path: Path, spoken: bytes
) -> None:
    """It is told once, work is kept, and when it is back a spoken row is counted again."""
    if MISSING:
        pytest.skip(f"a virtual microphone needs {', '.join(MISSING)}")
    journal = tmp_path / "j.walesong"
    with virtual_microphone() as microphone:
        names = ("PULSE_SERVER", "XDG_RUNTIME_DIR")
        environment = {**product_environment, **{name: os.environ[name] for name in names}}
        with start("knit", "--silent", "--journal", journal, env=environment) as walesong:
            assert walesong.stdout is not None
            assert walesong.stderr is not None
            _read_until(walesong.stdout, "Working 1")
            said = _say_until_heard(microphone, spoken, journal)
            microphone.pull_out()
            lost = walesong.stderr.readline()
            microphone.plug_in()
            back = walesong.stderr.readline()
            said += _say_until_heard(microphone, spoken, journal)
            walesong.send_signal(signal.SIGINT)
            rest = walesong.stdout.read()
    assert lost == "walesong: The microphone is gone; looking for it.\n"
    assert back == "walesong: Listening again.\n"
    assert walesong.returncode == 130
    done = fold(read_journal(journal)).done
    assert 2 <= done <= said
    assert f"Mug sleeve: {done} rows done" in rest


def _say_until_heard(microphone: VirtualMicrophone, spoken: bytes, journal: Path) -> int:
    """Say it until it is counted (before the model is loaded nothing is heard); how often."""
    before = fold(read_journal(journal)).done
    for said in range(1, 40):
        microphone.say(spoken)
        wait_until(lambda: microphone.silent, "it is said")
        if fold(read_journal(journal)).done > before:
            return said
    raise AssertionError("it was never heard")


def _read_until(stream: Any, part: str) -> str:
    said = ""
    while part not in said:
        line = stream.readline()
        assert line, f"it ended before {part!r}: {said}"
        said += line
    return said


# --- help ----------------------------------------------------------------------------------------


def _parsers(top: argparse.ArgumentParser, name: str) -> Iterator[argparse.ArgumentParser]:
    yield top
    for action in top._actions:
        if isinstance(action, argparse._SubParsersAction):
            yield action.choices[name]


def test_every_option_is_explained() -> None:
    """Each sub-command says what it does, and each of its options what it is for."""
    for one in (loaded for name in COMMANDS for loaded in _parsers(parser(name), name)):
        assert one.description, one.prog
        for action in one._actions:
            if not isinstance(action, argparse._SubParsersAction):
                assert action.help or not action.option_strings, f"{one.prog} {action.dest}"


def test_help_names_every_sub_command_and_exit_code(capsys: pytest.CaptureFixture[str]) -> None:
    """`walesong --help` lists the sub-commands and what each exit code means."""
    with pytest.raises(SystemExit) as left:
        main(["--help"])
    assert left.value.code == 0
    said = capsys.readouterr().out
    for name in COMMANDS:
        assert f"\n    {name} " in said
    assert EXIT_CODES in said
    for code in ("0 ", "1 ", "2 ", "3 ", "4 ", "130 "):
        assert f"\n  {code}" in EXIT_CODES


@pytest.mark.parametrize(
    "arguments",
    [["sing"], ["knit", "--from"], ["knit", "--typed", "--from", "x.wav"], ["hear"], ["--louder"]],
)
def test_a_line_that_is_not_understood(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2, the usage, and one sentence."""
    with pytest.raises(SystemExit) as left:
        main(arguments)
    assert left.value.code == 2
    said = capsys.readouterr()
    assert said.err.startswith("usage: walesong")
    assert "error: " in said.err.splitlines()[-1]
    assert said.out == ""


def test_the_version(capsys: pytest.CaptureFixture[str]) -> None:
    """`walesong --version` prints the version of the installed package."""
    with pytest.raises(SystemExit) as left:
        main(["--version"])
    assert left.value.code == 0
    assert capsys.readouterr().out.startswith("walesong ")


def test_what_goes_wrong_inside_ends_nothing_but_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A failure that nobody thought of is told, and the next command is taken all the same."""
    monkeypatch.setattr(wall, "RAISES", False)
    shown: list[Situation] = []
    failures: list[Exception] = [ZeroDivisionError()]

    def observer(_: object) -> None:
        if failures:
            raise failures.pop()

    voice = composition.silence("").voice
    helper = composition.assistant(tmp_path / "j.walesong", None, shown.append, voice)
    helper.observe(observer)
    helper.start()
    assert helper.ready()
    helper.typed_and_answered("row done")
    assert "went wrong" in shown[-1].trouble
    assert shown[-1].state.done == 1, "it was written before it went wrong"
    helper.typed_and_answered("row done")
    helper.stop()
    assert (shown[-1].state.done, shown[-1].trouble) == (2, "")
