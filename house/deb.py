"""A Debian package with an environment of its own: program, packages, recogniser and its model.

``python -m house.deb [--architecture arm64]``. It is made for the Debian whose Python this
environment has, from the lock file; the packages for the other architecture are taken ready-made,
so that nothing of it has to run here. The model is inside: installing a package asks no network,
and a small computer may never see one. The same checkout gives the same bytes.
"""

from __future__ import annotations

import argparse
import compileall
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path
from py_compile import PycInvalidationMode
from typing import TYPE_CHECKING, Final

from app import resources
from app.terminal.desktop_command import entry
from house import system
from house.environment import ROOT, RUN_LOCK, SOURCE_ONLY
from house.phone_tree import lay_out
from house.trouble import Trouble

if TYPE_CHECKING:
    from collections.abc import Iterator

BUILD: Final = ROOT / "build"
PYTHONS: Final = {(3, 11): "Debian 12", (3, 13): "Debian 13"}
"""The Python of each Debian; a package holds bytecode and libraries for exactly one."""
MACHINES: Final = {"amd64": "x86_64", "arm64": "aarch64"}
"""Debian's names of processors, and Python's."""
OWN: Final = Path("usr/lib/walesong")
"""The environment: nothing else of the system's Python packages is seen from inside."""

_GLIBC: Final = (17, 24, 26, 27, 28, 31, 34, 35, 36)
"""C libraries up to Debian 12's, 2.36; ready-made packages name the oldest that they run on."""
_OLD: Final = 315532800
"""1 January 1980: the date of every file in the package, seconds since 1970."""
_LEVEL: Final = "-z2"
"""How hard to pack: the highest takes minutes on a small computer."""
_UNUSED: Final = (".pyx", ".pxd", ".pxi", ".c", ".h", ".pyi")
"""Endings of what packages bring for compiling against them, and for looking at their types."""
_START: Final = """\
#!/usr/lib/walesong/bin/python3 -I
from app.main import run

run()
"""


def main(arguments: list[str] | None = None) -> int:
    """Make the package and say where it is and how it is installed."""
    parser = argparse.ArgumentParser(prog="make deb", description=__doc__)
    parser.add_argument("--architecture", choices=sorted(MACHINES), default="amd64")
    options = parser.parse_args(arguments)
    try:
        made = make(options.architecture, BUILD)
    except (Trouble, OSError) as trouble:
        print(trouble, file=sys.stderr)
        return 1
    place = made.relative_to(ROOT)
    size = made.stat().st_size / 1e6
    print(f"{place}: {size:.1f} MB, for {PYTHONS[sys.version_info[:2]]}.")
    print(f"To install: sudo apt-get install --no-install-recommends ./{place}")
    return 0


def make(architecture: str, folder: Path) -> Path:
    """Make the package in a folder and return it; Trouble where something is missing."""
    if sys.version_info[:2] not in PYTHONS:
        raise Trouble("A Debian has Python 3.11 or 3.13: make the package with one of them.")
    if shutil.which("dpkg-deb") is None:
        raise Trouble("dpkg-deb is not here: the package is made on Debian or its kin.")
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="deb-", dir=folder) as made:
        tree = Path(made) / "tree"
        tree.mkdir(mode=0o755)
        fill(tree, architecture)
        _packages(tree, architecture, Path(made) / "chosen.lock")
        trim(tree, architecture)
        _compile(tree)
        target = folder / f"walesong_{version()}_{architecture}.deb"
        _run("dpkg-deb", "--root-owner-group", "-Zxz", _LEVEL, "--build", str(tree), str(target))
    return target


def version() -> str:
    """Return the product's version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return str(project["version"])


def site() -> Path:
    """Return where packages lie in the environment."""
    return OWN / "lib" / f"python3.{sys.version_info.minor}" / "site-packages"


def fill(tree: Path, architecture: str) -> None:
    """Put in all but other people's packages: program, model, starter, desktop entry, control."""
    lay_out(tree / site(), resources.cache_folder() / resources.MODEL_NAME)
    for name in ("main.py", "LICENSE"):  # the phone's starter; the licence lies where Debian looks
        (tree / site() / name).unlink()
    _write(tree / OWN / "pyvenv.cfg", "home = /usr/bin\ninclude-system-site-packages = false\n")
    _write(tree / OWN / "bin" / "walesong", _START).chmod(0o755)
    (tree / OWN / "bin" / "python3").symlink_to(f"/usr/bin/python3.{sys.version_info.minor}")
    (tree / "usr/bin").mkdir()
    (tree / "usr/bin/walesong").symlink_to("../lib/walesong/bin/walesong")
    share = tree / "usr/share"
    _write(share / "applications/walesong.desktop", entry("walesong"))
    icon = share / "icons/hicolor/scalable/apps/walesong.svg"
    _write(icon, resources.text("assets/icon.svg"))
    _write(share / "doc/walesong/copyright", _copyright())
    description = site() / f"walesong-{version()}.dist-info" / "METADATA"
    _write(tree / description, f"Metadata-Version: 2.1\nName: walesong\nVersion: {version()}\n")
    _write(tree / "DEBIAN/control", control(architecture))


def control(architecture: str) -> str:
    """Return what Debian has to know; the libraries are those that set-up names."""
    minor = sys.version_info.minor
    needs = system.to_run(MACHINES[architecture])
    depends = [f"python3 (>= 3.{minor})", f"python3 (<< 3.{minor + 1})", "libc6 (>= 2.36)"]
    depends += ["libstdc++6", *dict.fromkeys(need.package for need in needs)]
    return (
        f"Package: walesong\nVersion: {version()}\nArchitecture: {architecture}\n"
        "Maintainer: The Walesong maintainers <root@localhost>\nSection: misc\n"
        f"Priority: optional\nDepends: {', '.join(depends)}\n"
        "Description: hands-free knitting assistant that listens while you knit\n"
        " Counts rows, says what comes next and how far it is, by voice, pedal, key or touch.\n"
        " Needs no network; what is said never leaves the device.\n"
    )


def chosen(lock: str, machine: str) -> Iterator[str]:
    """Return those entries of a lock file, checksums too, that a Linux on a processor needs.

    Its conditions are weighed here, because pip weighs them for the machine that it runs on.
    """
    from packaging.requirements import Requirement  # noqa: PLC0415 (hatchling brings it)

    where = {"platform_machine": machine, "sys_platform": "linux", "platform_system": "Linux"}
    for written in re.split(r"\n(?=\S)", lock):
        if written.startswith("#"):
            continue
        line, _, sums = written.partition(" \\\n")
        wanted = Requirement(line)
        if wanted.marker is None or wanted.marker.evaluate(environment=where):
            hashes = " \\\n".join(f"    {one}" for one in re.findall(r"--hash=\S+", sums))
            yield f"{wanted.name}{wanted.specifier} \\\n{hashes}\n"


def _packages(tree: Path, architecture: str, lock: Path) -> None:
    """Put the locked packages beside the program; those ready-made are for the other machine."""
    machine = MACHINES[architecture]
    lock.write_text("".join(chosen((ROOT / RUN_LOCK).read_text(encoding="utf-8"), machine)))
    platforms = [f"--platform=manylinux_2_{one}_{machine}" for one in reversed(_GLIBC)]
    platforms += [f"--platform={name}_{machine}" for name in ("manylinux2014", "linux")]
    if architecture == "amd64":
        platforms += [f"--platform={name}_{machine}" for name in ("manylinux2010", "manylinux1")]
    minor = sys.version_info.minor
    _run(
        *(sys.executable, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"),
        *("--require-hashes", "--no-deps", "--no-compile", "--no-build-isolation"),
        *("--only-binary", ":all:", "--no-binary", ",".join(SOURCE_ONLY)),
        *("--implementation", "cp", "--python-version", f"3.{minor}", *platforms),
        *("--target", str(tree / site()), "-r", str(lock)),
    )


def trim(tree: Path, architecture: str) -> None:
    """Leave out what only a workshop needs; Trouble where something is for another processor."""
    packages = tree / site()
    for name in ("bin", "share"):
        shutil.rmtree(packages / name, ignore_errors=True)
    for record in packages.glob("*.dist-info/RECORD"):
        record.unlink()  # what an uninstaller reads; here dpkg takes everything away
    for path in sorted(packages.rglob("*")):
        if path.is_dir() and path.name == "tests":
            shutil.rmtree(path)
        elif path.suffix in _UNUSED and path.is_file():
            path.unlink()
    foreign = re.compile(
        rb"^\x7fELF.{14}" + (b"\xb7" if architecture == "amd64" else b"\x3e"), re.DOTALL
    )
    for library in packages.rglob("*.so*"):
        with library.open("rb") as begun:
            if foreign.match(begun.read(20)):
                raise Trouble(f"{library.name} is not built for {architecture}.")
    for path in tree.rglob("*"):
        if not path.is_symlink():
            runs = path.is_dir() or path == tree / OWN / "bin" / "walesong"
            path.chmod(0o755 if runs else 0o644)


def _compile(tree: Path) -> None:
    """Put bytecode beside the sources, the same at every time."""
    compiled = compileall.compile_dir(
        tree / site(),
        quiet=2,
        stripdir=str(tree),
        prependdir="/",
        invalidation_mode=PycInvalidationMode.UNCHECKED_HASH,
        workers=0,
    )
    if not compiled:
        print("Some files of other people's packages are not for this Python; they stay sources.")


def _copyright() -> str:
    """Return whose work is inside: our licence, and where each other one lies."""
    ours = (ROOT / "LICENSE").read_text(encoding="utf-8")
    return (
        f"{ours}\nThe packages of others in /{site()} are each under its own licence, which lies\n"
        "in its folder ending in .dist-info. The speech model is under the Apache licence 2.0,\n"
        "the font under the SIL Open Font License 1.1.\n"
    )


def _write(file: Path, text: str) -> Path:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")
    return file


def _run(*command: str) -> None:
    """Run a program that makes a part; Trouble with what it said last if it fails."""
    beside = {**os.environ, "SOURCE_DATE_EPOCH": str(_OLD)}
    done = subprocess.run(command, env=beside, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        said = (done.stderr or done.stdout).strip().splitlines() or ["it failed"]
        raise Trouble(f"{Path(command[0]).name} could not make its part: {said[-1]}")


if __name__ == "__main__":
    sys.exit(main())
