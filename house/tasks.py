"""What can be done in the prepared house: run it, check it, test it, measure it."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import IO, TYPE_CHECKING, Final

from house.environment import (
    FOLDER,
    MUTANTS_LOCK,
    ROOT,
    RUN_LOCK,
    SETUP_LOCK,
    SOURCE_ONLY,
    TEST_LOCK,
    program,
    provide_beside,
)
from house.trouble import Trouble

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

CHECKS: Final = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("lint-imports", "--no-logo"),
    ("python", "-m", "house.circles"),
    ("codespell",),
    ("vulture",),
)
"""The checks that look at the code without running it, in order."""

HALVES: Final = (
    (
        "tests",
        "--ignore-glob=tests/app/test_*",
        "--ignore=tests/app/printing",
        "--ignore=tests/speech",
    ),
    (
        *("tests/app", "tests/speech", "--ignore=tests/app/screens"),
        "--override-ini=cache_dir=.pytest_cache/app",
    ),
)
"""All tests in two halves that take about as long: the windows are with what needs no screen."""

ON_LOWEST: Final = ("tests/engine/pattern", "tests/outside/test_old_books.py")
"""What is tried on the lowest allowed versions: what leans most on other people's packages."""

LONG: Final = frozenset({"lost_end_bench", "share_bench", "soak_bench", "speech_bench"})
"""Measurements that take long: they are run by name only."""


def provide_model() -> int:
    """Have the environment fetch the speech model if it is not there; 0 when all is well."""
    return _call("python", "-m", "house.model")


def do(task: str, arguments: Sequence[str]) -> int:
    """Do a task of the command line in the prepared house; return its exit code."""
    match task:
        case "run":
            return run(arguments)
        case "check":
            return check()
        case "test":
            return test(arguments)
        case "bench":
            return bench(arguments)
        case "mutants":
            return mutants(arguments)
        case "check-lowest":
            return check_lowest()
        case "schema":
            return _call("python", "-m", "house.journal_schema")
        case "phone-tree" | "phone-trial" | "phone-check" | "deb":
            return _call("python", "-m", f"house.{task.replace('-', '_')}", *arguments)
        case _:
            return 0


def run(arguments: Sequence[str]) -> int:
    """Start Walesong where the user is; its exit code is ours."""
    return _call("walesong", *arguments, folder=None)


def check() -> int:
    """Look at the code without running it; tell how many checks found something."""
    failed = []
    for command in CHECKS:
        print(f"== {' '.join(command)}", flush=True)
        if _call(*command) != 0:
            failed.append(" ".join(command))
    if failed:
        print(f"Found wanting by: {', '.join(failed)}", flush=True)
    return 1 if failed else 0


def test(arguments: Sequence[str]) -> int:
    """Do all checks, then all tests (or those that the arguments for pytest name)."""
    checked = check()
    if arguments:
        print("== pytest", flush=True)
        tested = _call("pytest", *arguments)
    else:
        tested = _test_in_halves()
    if checked:
        print("The tests ran, but a check above found something wrong.", file=sys.stderr)
    return tested or checked


def _test_in_halves() -> int:
    """Run both halves of the tests at once: nearly every machine has two cores. Print in order."""
    one, other = HALVES
    with tempfile.TemporaryFile() as said, ThreadPoolExecutor(max_workers=1) as beside:
        print(f"== pytest {' '.join(one)}; beside it {' '.join(other)}", flush=True)
        waiting = beside.submit(_call, "pytest", *other, output=said)
        tested = _call("pytest", *one)
        print(f"== pytest {' '.join(other)}", flush=True)
        tested = waiting.result() or tested
        said.seek(0)
        print(said.read().decode(errors="replace"), end="", flush=True)
    return tested


def bench(names: Sequence[str]) -> int:
    """Run the named scripts of ``bench``; without names all ``*_bench.py`` that are not long."""
    folder = ROOT / "bench"
    scripts = [script for script in sorted(folder.glob("*_bench.py")) if script.stem not in LONG]
    if names:
        scripts = [_script(folder, name) for name in names]
    worst = 0
    for script in scripts:
        print(f"== bench/{script.name}", flush=True)
        worst = max(worst, _call("python", str(script)))
    return worst


def mutants(arguments: Sequence[str]) -> int:
    """Put small faults into the modules that are named, and tell which of them no test notices."""
    beside = {"PYTHONPATH": str(provide_beside(MUTANTS_LOCK))}
    return _call("python", "-m", "house.mutants", *arguments, more=beside)


def check_lowest() -> int:
    """Run the tests of the pattern reader on the lowest versions that pyproject.toml allows.

    It asks the network for these versions each time, so it is not part of the other checks.
    """
    with tempfile.TemporaryDirectory() as made:
        lowest = Path(made) / "lowest.txt"
        asked = ("pyproject.toml", "--group", "test", "--quiet", "--output-file", str(lowest))
        _compile_locks(
            (*asked, "--python", str(program("python")), "--resolution", "lowest-direct")
        )
        folder = Path(made) / "environment"
        subprocess.run([program("python"), "-m", "venv", str(folder)], check=True)
        python = folder / program("python").relative_to(FOLDER)
        wanted = ("--only-binary", ":all:", "--no-binary", ",".join(SOURCE_ONLY))
        install = ("-m", "pip", "install", "--quiet", "--no-deps", *wanted, "-r", str(lowest))
        subprocess.run([python, *install], check=True)
        return subprocess.run(
            [python, "-m", "pytest", "-p", "no:cacheprovider", *ON_LOWEST], cwd=ROOT, check=False
        ).returncode


def _script(folder: Path, name: str) -> Path:
    for script in (folder / f"{name}_bench.py", folder / f"{name}.py"):
        if script.exists():
            return script
    raise Trouble(f"There is no benchmark called '{name}' in bench/.")


def lock() -> int:
    """Make the lock files anew from pyproject.toml, with the newest fitting versions."""
    options = (
        *("--universal", "--python-version", "3.11", "--generate-hashes"),
        *("--no-emit-index-url", "--custom-compile-command", "make lock", "--upgrade", "--quiet"),
    )
    run = ("pyproject.toml", "--constraints", SETUP_LOCK)
    more = ("--extra", "sound", "--group", "test", "--group", "lint")
    mutants = ("--group", "mutants", "--constraints", TEST_LOCK)
    _compile_locks(
        (*options, "--group", "setup", "--output-file", SETUP_LOCK),
        (*options, *run, "--output-file", RUN_LOCK),
        (*options, *run, *more, "--constraints", RUN_LOCK, "--output-file", TEST_LOCK),
        (*options, *mutants, "--output-file", MUTANTS_LOCK),
    )
    return 0


def _compile_locks(*locks: Sequence[str]) -> None:
    """Write lock files with uv, which is fetched for it and not kept."""
    with tempfile.TemporaryDirectory() as tools:
        subprocess.run(
            [program("python"), "-m", "pip", "install", "--quiet", "--target", tools, "uv"],
            check=True,
        )
        compile_ = (sys.executable, "-m", "uv", "pip", "compile")
        environment = {**os.environ, "PYTHONPATH": tools}
        for arguments in locks:
            subprocess.run([*compile_, *arguments], cwd=ROOT, env=environment, check=True)


def _call(
    name: str,
    *arguments: str,
    folder: Path | None = ROOT,
    output: IO[bytes] | None = None,
    more: Mapping[str, str] | None = None,
) -> int:
    """
    Run a program of the environment with the environment's programs on the PATH.

    Both its outputs go to the file `output`, if one is given; `more` are further variables.
    """
    path = os.pathsep.join([str(program("python").parent), os.environ.get("PATH", "")])
    environment = {**os.environ, "VIRTUAL_ENV": str(FOLDER), "PATH": path, **(more or {})}
    command = [str(program(name)), *arguments]
    both = None if output is None else subprocess.STDOUT
    return subprocess.run(
        command, cwd=folder, env=environment, stdout=output, stderr=both, check=False
    ).returncode
