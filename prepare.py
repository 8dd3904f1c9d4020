"""Set Walesong up on this machine, and run, test or measure it there.

    python3 prepare.py setup           set up what running needs (--for-tests: and testing)
    python3 prepare.py run [ARGS]      ... and start Walesong
    python3 prepare.py test [ARGS]     set up what testing needs, check and test (ARGS go to pytest)
    python3 prepare.py check           only the checks that do not run the code
    python3 prepare.py bench [NAMES]   only the benchmarks
    python3 prepare.py mutants [ARGS]  put small faults into the code: does a test notice?
    python3 prepare.py check-lowest    try the lowest versions of packages that are allowed
    python3 prepare.py schema          write the journal's JSON Schema anew from the classes
    python3 prepare.py phone-tree [ARGS]  lay out what goes into a phone's package
    python3 prepare.py phone-trial [ARGS]  put a package together to try it on a phone
    python3 prepare.py phone-check [APK]   look into that package without a phone
    python3 prepare.py deb [ARGS]      make a Debian package with all that it needs
    python3 prepare.py lock            choose the newest versions of all packages anew

``--model PATH`` (or the environment variable WALESONG_MODEL) takes another speech model; nothing
is fetched then. As root, what is missing of the system's packages is named and then installed;
``--no-system-packages`` goes on without. What is already there is never fetched again, so all of
this works offline from the second time on. Needs only Python's standard library; ``make`` calls it,
Windows calls it directly.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from house import python, system
from house.trouble import Trouble

MODEL_VARIABLE = "WALESONG_MODEL"
NO_SYSTEM_PACKAGES = "--no-system-packages"
_STARTED_AGAIN = "WALESONG_STARTED_AGAIN"
TASKS = (
    "setup",
    "run",
    "test",
    "check",
    "bench",
    "mutants",
    "check-lowest",
    "schema",
    "lock",
    "phone-tree",
    "phone-trial",
    "phone-check",
    "deb",
)


def main(arguments: list[str]) -> int:
    """Do what the command line asks for; one sentence and a non-zero code when that fails."""
    if arguments[:1] in (["-h"], ["--help"]):
        print(__doc__)
        return 0
    try:
        fitting = python.find()
        started_again = os.environ.pop(_STARTED_AGAIN, None)
        if not started_again and fitting not in (sys.executable, python.underlying()):
            environment = {**os.environ, _STARTED_AGAIN: "1"}
            return subprocess.call([fitting, __file__, *arguments], env=environment)
        return _do(arguments)
    except Trouble as trouble:
        print(trouble, file=sys.stderr)
        return 1
    except OSError as error:
        print(f"Setting up failed: {error}.", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


def _do(arguments: list[str]) -> int:
    """Set up as far as the task needs it, then do the task."""
    # These are written for the fitting Python, so they are loaded only now.
    from house import environment, tasks  # noqa: PLC0415
    from house.one_at_a_time import one_at_a_time  # noqa: PLC0415

    arguments = _take_model(arguments)
    may_install = NO_SYSTEM_PACKAGES not in arguments
    arguments = [argument for argument in arguments if argument != NO_SYSTEM_PACKAGES]
    task, rest = (arguments[0], arguments[1:]) if arguments else ("setup", [])
    if task not in TASKS:
        raise Trouble(f"'{task}' is not one of {', '.join(TASKS)} (see --help).")
    if task == "setup" and rest not in ([], ["--for-tests"]):
        raise Trouble(
            "setup takes nothing but --for-tests, --no-system-packages and --model PATH "
            "(see --help)."
        )
    if task == "lock":
        return tasks.lock()
    for_tests = task in ("test", "check", "bench", "mutants", "check-lowest") or (
        task == "setup" and bool(rest)
    )
    with one_at_a_time(environment.ROOT / ".prepare.lock"):
        needs = system.TO_RUN + (system.FOR_TESTS if for_tests else ())
        system.provide(needs, may_install=may_install)
        environment.provide(for_tests=for_tests)
    if not os.environ.get(MODEL_VARIABLE) and tasks.provide_model() != 0:
        return 1
    return tasks.do(task, rest)


def _take_model(arguments: list[str]) -> list[str]:
    """Take ``--model PATH`` out of the arguments and remember it for everything started here."""
    kept = []
    given = iter(arguments)
    for argument in given:
        name, _, path = argument.partition("=")
        if name != "--model":
            kept.append(argument)
            continue
        path = path or next(given, "")
        if not path:
            raise Trouble("--model needs the path of a speech model's folder.")
        os.environ[MODEL_VARIABLE] = str(Path(path).expanduser().absolute())
    return kept


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
