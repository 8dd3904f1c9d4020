"""What can be known of the trial package without a phone.

``python -m house.phone_check [APK]``: its signature and alignment, what it may do, whether every
library it needs is there, the page sizes, and whether what is unpacked hears as the checkout does.
Nothing of it runs on Android: docs/PHONE-TEST.md is for that. What this machine lacks is named.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import wave
import zipfile
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Final

from house.phone_parts import parts, provide
from house.phone_trial import BUNDLE, MADE, PRIVATE, PYTHON, ROOT
from house.trouble import Trouble

if TYPE_CHECKING:
    from collections.abc import Callable

PERMITTED: Final = frozenset({"RECORD_AUDIO", "VIBRATE", "WAKE_LOCK"})
OF_THE_SYSTEM: Final = frozenset(
    f"lib{name}.so"
    for name in (
        *("c", "m", "dl", "log", "z", "android", "EGL", "GLESv1_CM", "GLESv2", "GLESv3"),
        *("OpenSLES", "jnigraphics", "stdc++"),
    )
)
"""What every Android has (its native API's list, from memory)."""
NONE_YET: Final = 'There is no package: make phone-trial ARGS="--trust-parts" makes it.'
HEARD_S: Final = 22
DOUBLE: Final = ROOT / "tests" / "android_double"
ADAPTERS: Final = (
    *sorted((ROOT / "speech").rglob("android*.py")),
    ROOT / "app" / "wiring" / "pocket.py",
)
_PUT_AWAY: Final = frozenset({"file", "compute_s"})
"""What differs between two hearings of the same sound."""


def main(arguments: list[str] | None = None) -> int:
    """Check, and tell each finding in a line; 1 where one is wrong."""
    given = sys.argv[1:] if arguments is None else arguments
    package = Path(given[0]) if given else MADE
    if not package.is_file():
        print(NONE_YET, file=sys.stderr)
        return 1
    wrong = 0
    with tempfile.TemporaryDirectory() as made:
        unpacked = Path(made)
        unpack(package, unpacked)
        checks: tuple[tuple[str, tuple[str, ...], Callable[[], str]], ...] = (
            ("signature", ("apksigner",), lambda: signature(package)),
            ("alignment", ("zipalign",), lambda: alignment(package)),
            ("permissions", ("aapt",), lambda: permissions(package)),
            ("libraries", ("readelf",), lambda: libraries(unpacked)),
            ("doubles", ("javac", "javap"), doubles),
            ("hearing", (), lambda: hearing(unpacked / "private")),
        )
        for name, tools, check in checks:
            missing = [tool for tool in tools if shutil.which(tool) is None]
            if missing:
                print(f"{name}: not looked at, this machine has no {', '.join(missing)}.")
                continue
            try:
                print(f"{name}: {check()}", flush=True)
            except Trouble as trouble:
                wrong += 1
                print(f"{name}: WRONG. {trouble}", flush=True)
    return 1 if wrong else 0


def unpack(package: Path, folder: Path) -> None:
    """Unpack it as it is at the first start: libraries, the program, and the Python inside."""
    with zipfile.ZipFile(package) as whole:
        whole.extractall(folder / "package")  # noqa: S202 (we have made it ourselves)
    for archive, name in ((PRIVATE, "private"), (BUNDLE, "bundle")):
        with tarfile.open(folder / "package" / archive, mode="r:gz") as packed:
            packed.extractall(folder / name, filter="data")


def signature(package: Path) -> str:
    """Verify the signature."""
    said = _said("apksigner", "verify", "--verbose", "--min-sdk-version", "24", str(package))
    schemes = re.findall(r"using (v\d) scheme.*: true", said)
    if not schemes:
        raise Trouble("No scheme of signing verifies.")
    return f"verifies ({', '.join(schemes)})"


def alignment(package: Path) -> str:
    """Verify that what is stored is aligned."""
    _said("zipalign", "-c", "-p", "4", str(package))
    return f"kept; {package.stat().st_size / 1e6:.1f} MB"


def permissions(package: Path) -> str:
    """Verify that it may hear and cannot talk to anyone."""
    said = _said("aapt", "dump", "badging", str(package))
    asked = set(re.findall(r"uses-permission: name='android\.permission\.(\w+)'", said))
    if asked != PERMITTED:
        raise Trouble(f"It asks for {', '.join(sorted(asked))}.")
    target = re.findall(r"targetSdkVersion:'(\d+)'", said)
    return f"{', '.join(sorted(asked))}; made for level {''.join(target)}; no network"


def libraries(unpacked: Path) -> str:
    """Verify that each library needed is in the package or in every Android; tell page sizes."""
    folder = unpacked / "package" / "lib" / "arm64-v8a"
    own = [file for file in folder.glob("*.so") if file.name != "libpybundle.so"]
    modules = sorted((unpacked / "bundle").rglob("*.so"))
    names = {file.name for file in own}
    missing: dict[str, str] = {}
    pages: Counter[int] = Counter()
    for file in (*sorted(own), *modules):
        for needed in re.findall(r"NEEDED.*\[(.*?)\]", _said("readelf", "-dW", str(file))):
            if needed not in names | OF_THE_SYSTEM:
                missing[needed] = file.name
        headers = _said("readelf", "-lW", str(file))
        loads = re.findall(r"LOAD.*(0x[0-9a-f]+)$", headers, re.MULTILINE)
        pages[min(int(size, 16) for size in loads)] += 1
    if missing:
        raise Trouble("; ".join(f"{by} needs {name}" for name, by in missing.items()))
    small = pages[4096]
    return (
        f"{len(own)} and {len(modules)} modules need nothing that is not there; {small} of"
        f" {pages.total()} are for pages of 4 KB: devices with pages of 16 KB refuse them"
    )


def doubles() -> str:
    """Verify that what the adapters call on our doubles of Android's classes is really there."""
    from app import resources  # noqa: PLC0415 - only the environment has what it imports

    (framework,) = parts("check")
    real = provide(framework, resources.cache_folder() / "phone-parts")
    called = "".join(file.read_text(encoding="utf-8") for file in ADAPTERS)
    classes, wrong, seen = 0, [], 0
    with tempfile.TemporaryDirectory() as made:
        sources = [str(source) for source in DOUBLE.rglob("*.java")]
        _said("javac", "-Xlint:-options", "-d", made, *sources)
        for file in sorted(Path(made, "android").rglob("*.class")):
            name = file.relative_to(made).with_suffix("").as_posix().replace("/", ".")
            ours = {one for one in members(made, name) if _called(one, name, called)}
            wrong += [f"{name} {one}" for one in sorted(ours - members(str(real), name))]
            classes, seen = classes + 1, seen + len(ours)
    if wrong or not seen:
        raise Trouble(f"The framework has no {', '.join(wrong)}.")
    return f"{seen} members of {classes} classes are in the framework of level 34 as we call them"


def members(where: str, name: str) -> set[str]:
    """Return the public members of a Java class, each as its name and its signature."""
    found: set[str] = set()
    said = _said("javap", "-public", "-s", "-cp", where, name).splitlines()
    for line, below in pairwise(map(str.strip, said)):
        if below.startswith("descriptor:"):
            called = re.search(r"([\w$.]+)\(", line) or re.search(r"([\w$]+)(?: = .*)?;$", line)
            if called is not None:
                found.add(f"{called[1].rpartition('.')[2]} {below.split()[1]}")
    return found


def _called(member: str, of: str, text: str) -> bool:
    """Whether the adapters use a member: by its name, or as the way to make one of the class."""
    name = member.partition(" ")[0]
    if name == of.rpartition(".")[2]:
        return f'"{of}")(' in text
    return re.search(rf"\.{name}\b", text) is not None


def hearing(tree: Path) -> str:
    """Verify that the unpacked bytecode, with its own model, hears as the checkout does."""
    if sys.version_info[:2] != PYTHON:
        return "not tried, the bytecode is for Python 3.11."
    with tempfile.TemporaryDirectory() as made:
        sound = Path(made) / "first.wav"
        practice = ROOT / "assets" / "practice" / "mug-sleeve.wav"
        with wave.open(str(practice)) as whole, wave.open(str(sound), "wb") as first:
            first.setparams(whole.getparams())
            first.writeframes(whole.readframes(HEARD_S * whole.getframerate()))
        here = _heard(ROOT, "main.py", sound)
        there = _heard(tree, "main.pyc", sound)
    if not there or here != there:
        raise Trouble(f"It hears {there}, the checkout {here}.")
    return f"{len(there)} utterances of {HEARD_S} s, each as in the checkout"


def _heard(folder: Path, program: str, sound: Path) -> list[dict[str, object]]:
    named = {name: value for name, value in os.environ.items() if name != "WALESONG_MODEL"}
    done = subprocess.run(
        (sys.executable, "-OO", program, "hear", "--json", str(sound)),
        cwd=folder,
        env={**named, "PYTHONPATH": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode != 0:
        raise Trouble(done.stderr.strip())
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    return [{name: one[name] for name in one if name not in _PUT_AWAY} for one in lines]


def _said(*command: str) -> str:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise Trouble((done.stderr or done.stdout).strip() or f"{command[0]} refuses it.")
    return done.stdout


if __name__ == "__main__":
    sys.exit(main())
