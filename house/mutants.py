"""Put small faults into the code, one at a time, and tell which of them no test notices.

    make mutants                                      all that is judged by figures; takes hours
    make mutants ARGS="engine/plan/size.py"           only these modules
    make mutants ARGS="speech/hearing/gate.py --tests tests/speech/test_gate.py"

It works on a copy of the checkout in ``out/mutants``; the checkout stays as it is. What survives is
shown as a difference each: some change nothing that can be seen, the others are gaps.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

ROOT: Final = Path(__file__).resolve().parent.parent
COPY: Final = ROOT / "out" / "mutants"
MODULES: Final = (
    *("engine/*.py", "engine/plan/*.py", "engine/forecast/*.py", "engine/facts/*.py"),
    *("engine/answering/*.py", "engine/judging/*.py"),
    *("speech/hearing/gate.py", "speech/hearing/judging.py", "speech/hearing/acceptance.py"),
)
"""What is tried unless something else is asked for: not the reader of rows, which its grammar
drives, nor what only moves bytes."""
TESTS: Final = ("tests/engine", "tests/outside", "tests/speech", "tests/app/test_plan_command.py")
_ROOMS: Final = ("engine", "speech", "app")
_KILLED: Final = ("killed", "timeout")
_VERDICT: Final = re.compile(r"^\s*(\S+__mutmut_\d+): (.+)$", re.MULTILINE)


def table(modules: Iterable[str], tests: Iterable[str], beside: Iterable[str]) -> str:
    """Return the settings of mutmut for these modules and tests, as they stand in pyproject.toml.

    `beside` is what lies at the top of the checkout and is needed, but not changed.
    """
    values = {
        "source_paths": list(_ROOMS),
        "only_mutate": list(modules),
        "also_copy": list(beside),
        # What an exception says to a programmer is not held to its words.
        "do_not_mutate_patterns": [r"raise \w+Error\("],
        "pytest_add_cli_args": ["-p", "no:cacheprovider", "--timeout=600"],
        "pytest_add_cli_args_test_selection": list(tests),
    }
    lines = [f"{name} = {json.dumps(value)}" for name, value in values.items()]
    return "\n".join(["", "[tool.mutmut]", *lines, ""])


def lay_copy(modules: Sequence[str], tests: Sequence[str]) -> None:
    """Copy what belongs to the checkout, and write into the copy what is to be tried."""
    shutil.rmtree(COPY, ignore_errors=True)
    listing = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    listed = subprocess.run(listing, cwd=ROOT, capture_output=True, text=True, check=True)
    names = [name for name in listed.stdout.split("\0") if name and (ROOT / name).is_file()]
    for name in names:
        (COPY / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, COPY / name)
    beside = {name.split("/")[0] for name in names} - {*_ROOMS, "tests", "pyproject.toml"}
    with (COPY / "pyproject.toml").open("a", encoding="utf-8") as description:
        description.write(table(modules, tests, sorted(beside)))


def verdicts(results: str) -> list[tuple[str, str]]:
    """Return every mutant with its verdict, as `mutmut results --all true` prints them."""
    return [(found[1], found[2].strip()) for found in _VERDICT.finditer(results)]


def summary(found: Sequence[tuple[str, str]]) -> list[str]:
    """Return a line for each module and one for all: how many mutants were noticed by a test."""
    tried, killed = Counter[str](), Counter[str]()
    for name, verdict in found:
        for counted in (name.rpartition(".")[0], "all"):
            tried[counted] += 1
            killed[counted] += verdict in _KILLED
    return [
        f"{name}: {killed[name]} of {tried[name]} killed ({killed[name] / tried[name]:.0%})"
        for name in sorted(tried, key=lambda name: (name == "all", name))
    ]


def main(arguments: Sequence[str]) -> int:
    """Try the mutants, print the survivors and the share that was killed; 0 if the run ended."""
    parser = argparse.ArgumentParser(prog="make mutants", description="Try the tests with faults.")
    parser.add_argument("modules", nargs="*", default=MODULES, help="files, or patterns of files")
    parser.add_argument("--tests", nargs="+", default=TESTS, help="the tests that have to notice")
    parser.add_argument("--jobs", default="1", help="how many to try at once (default: 1)")
    options = parser.parse_args(arguments)
    lay_copy(options.modules, options.tests)
    done = _mutmut("run", "--max-children", options.jobs)
    if done.returncode != 0:
        return done.returncode
    found = verdicts(_mutmut("results", "--all", "true", kept=True).stdout)
    for name, verdict in found:
        if verdict not in _KILLED:
            print(f"== {name}: {verdict}")
            print(_mutmut("show", name, kept=True).stdout)
    print("\n".join(summary(found)))
    return 0 if found else 1


def _mutmut(*arguments: str, kept: bool = False) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "mutmut", *arguments]
    return subprocess.run(command, cwd=COPY, text=True, capture_output=kept, check=False)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
