"""prepare.py, as a user calls it."""

from __future__ import annotations

import os
import subprocess
import sys
from fnmatch import fnmatch
from pathlib import Path
from typing import IO, TYPE_CHECKING

import pytest

import prepare
from house import environment, system, tasks
from house.trouble import Trouble

if TYPE_CHECKING:
    from collections.abc import Sequence

_ROOT = Path(__file__).parent.parent.parent


def _call(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "prepare.py", *arguments],
        cwd=_ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


def test_says_what_it_can_do() -> None:
    """--help names every task."""
    done = _call("--help")
    assert done.returncode == 0
    assert all(f"prepare.py {task}" in done.stdout for task in prepare.TASKS)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["knit"], "'knit' is not one of setup, run,"),
        (["run", "--model"], "--model needs the path"),
        (["--model="], "--model needs the path"),
        (["setup", "everything"], "setup takes nothing but --for-tests"),
    ],
)
def test_a_wrong_call_is_one_sentence(arguments: list[str], sentence: str) -> None:
    """What it cannot do is said in one line, without a traceback, with a code that is not zero."""
    done = _call(*arguments)
    assert done.returncode == 1
    assert done.stderr.startswith(sentence)
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize(
    "arguments", [["run", "--model", "m", "knit"], ["--model=m", "run", "knit"]]
)
def test_another_model_is_handed_on(arguments: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """--model stands anywhere, is made absolute, and reaches what is started, by the variable."""
    monkeypatch.setenv(prepare.MODEL_VARIABLE, "")
    assert prepare._take_model(arguments) == ["run", "knit"]
    assert os.environ[prepare.MODEL_VARIABLE] == str(Path("m").absolute())


@pytest.mark.parametrize("may", [True, False])
def test_system_packages_are_left_out_when_told_so(
    may: bool,  # noqa: FBT001 (a case)
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """--no-system-packages stands anywhere and reaches what would install, not what is started."""
    told: list[object] = []
    monkeypatch.setenv(prepare.MODEL_VARIABLE, "m")
    monkeypatch.setattr(system, "provide", lambda _, *, may_install: told.append(may_install))
    monkeypatch.setattr(environment, "provide", lambda *, for_tests: told.append(for_tests))

    def do(task: str, rest: list[str]) -> int:
        told.append((task, rest))
        return 0

    monkeypatch.setattr(tasks, "do", do)
    words = ["run", "--silent"] if may else ["run", "--no-system-packages", "--silent"]
    assert prepare._do(words) == 0
    assert told == [may, False, ("run", ["--silent"])]


def test_one_failing_check_fails_the_checks(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """All checks are done, and one that finds something makes the whole fail by name."""
    called: list[str] = []

    def call(name: str, *arguments: str) -> int:
        called.append(" ".join([name, *arguments]))
        return 1 if name == "mypy" else 0

    monkeypatch.setattr(tasks, "_call", call)
    assert tasks.check() == 1
    assert called == [" ".join(command) for command in tasks.CHECKS]
    assert "Found wanting by: mypy\n" in capsys.readouterr().out


def test_a_failing_check_fails_passing_tests(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests run also when a check failed, and passing tests do not hide that."""
    called: list[str] = []

    def call(name: str, *_: str, output: IO[bytes] | None = None) -> int:
        del output
        called.append(name)
        return 1 if name == "mypy" else 0

    monkeypatch.setattr(tasks, "_call", call)
    assert tasks.test(["tests/house"]) == 1
    assert tasks.test([]) == 1
    assert called.count("pytest") == 3


def test_the_halves_of_the_tests_are_all_of_them() -> None:
    """Every test file is in one of the halves, and none is in both."""
    for file in _ROOT.glob("tests/**/test_*.py"):
        name = file.relative_to(_ROOT).as_posix()
        assert sum(_takes_up(half, name) for half in tasks.HALVES) == 1, name


def _takes_up(half: Sequence[str], name: str) -> bool:
    """Tell whether pytest, called with the arguments of a half, takes up a file."""
    folders = [one for one in half if not one.startswith("--")]
    given = [option.partition("=") for option in half]
    ignored = [path for option, _, path in given if option == "--ignore"]
    globs = [path for option, _, path in given if option == "--ignore-glob"]
    return (
        any(name.startswith(f"{folder}/") for folder in folders)
        and not any(name.startswith(f"{path}/") for path in ignored)
        and not any(fnmatch(name, pattern) for pattern in globs)
    )


@pytest.mark.parametrize("failing", [0, 1])
def test_both_halves_of_the_tests_count(
    failing: int, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """Together the halves are all tests; each is shown whole, and a failure in either fails all."""

    def call(name: str, *arguments: str, output: IO[bytes] | None = None) -> int:
        said = f"{name} said all of {arguments[0]}\n".encode()
        if output is not None:
            output.write(said)
        else:
            os.write(1, said)
        return int(name == "pytest" and arguments[0] == tasks.HALVES[failing][0])

    monkeypatch.setattr(tasks, "_call", call)
    monkeypatch.setattr(tasks, "CHECKS", ())
    assert tasks.test([]) == 1
    shown = capfd.readouterr().out
    assert shown.index("said all of tests\n") < shown.index("said all of tests/app\n")


def test_benchmarks_are_found_by_name(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Without names all short benchmarks run; a long one, or another script, runs by its name."""
    (tmp_path / "bench").mkdir()
    for name in ("a_bench", "soak_bench", "pictures", "voices"):
        (tmp_path / "bench" / f"{name}.py").touch()
    called: list[str] = []

    def call(_: str, script: str) -> int:
        called.append(Path(script).stem)
        return 0

    monkeypatch.setattr(tasks, "ROOT", tmp_path)
    monkeypatch.setattr(tasks, "_call", call)
    assert tasks.bench([]) == 0
    assert tasks.bench(["soak", "pictures"]) == 0
    assert called == ["a_bench", "soak_bench", "pictures"]
    with pytest.raises(Trouble, match="no benchmark called 'none'"):
        tasks.bench(["none"])


def test_every_long_benchmark_is_there() -> None:
    """What is left out of the short round is the name of a benchmark, not of one that is gone."""
    assert all((_ROOT / "bench" / f"{name}.py").is_file() for name in tasks.LONG)


def test_make_knows_every_task() -> None:
    """The Makefile is a front door to all tasks, and prepare.py knows all that it asks for."""
    makefile = (_ROOT / "Makefile").read_text(encoding="utf-8")
    asked = {line.split()[1] for line in makefile.splitlines() if line.startswith("\t$(PREPARE)")}
    assert asked == set(prepare.TASKS)
