"""How the packages, their data and their locked dependencies travel."""

from __future__ import annotations

import importlib
import importlib.metadata
import os
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from house.environment import MUTANTS_LOCK, RUN_LOCK, SETUP_LOCK, SOURCE_ONLY, TEST_LOCK

_ROOT = Path(__file__).parent.parent.parent
_LOCKS = (SETUP_LOCK, RUN_LOCK, TEST_LOCK)
_DESCRIPTION = tomllib.loads((_ROOT / "pyproject.toml").read_text(encoding="utf-8"))
_PINNED = re.compile(r"^[A-Za-z0-9._-]+==[^ ]+")


def _locked(lock: str) -> list[Requirement]:
    """Return what a lock file pins, without the checksums."""
    lines = (_ROOT / lock).read_text(encoding="utf-8").splitlines()
    return [
        Requirement(line.removesuffix("\\").strip())
        for line in lines
        if line and not line.startswith((" ", "#"))
    ]


def _asked() -> list[tuple[str, str]]:
    """Return every lock with each requirement that it has to cover."""
    project, groups = _DESCRIPTION["project"], _DESCRIPTION["dependency-groups"]
    optional = project["optional-dependencies"]
    return [
        *((SETUP_LOCK, line) for line in groups["setup"]),
        *((MUTANTS_LOCK, line) for line in groups["mutants"]),
        *((lock, line) for lock in (RUN_LOCK, TEST_LOCK) for line in project["dependencies"]),
        *(
            (TEST_LOCK, line)
            for lines in (
                project["dependencies"],
                optional["sound"],
                groups["test"],
                groups["lint"],
            )
            for line in lines
        ),
    ]


@pytest.mark.parametrize("name", ["app", "speech", "engine", "house"])
def test_the_packages_of_this_checkout_are_the_ones_in_use(name: str) -> None:
    """No stray distribution with the same everyday name gets in front of ours."""
    file = importlib.import_module(name).__file__
    assert file is not None
    assert Path(file).resolve().parent == _ROOT.resolve() / name


def test_a_lock_covers_what_the_project_asks_for(subtests: pytest.Subtests) -> None:
    """Every requirement of pyproject.toml is pinned, by a version that satisfies it."""
    for lock, asked in _asked():
        with subtests.test(lock=lock, asked=asked):
            wanted = Requirement(asked)
            named = wanted.name.lower()
            pins = [pin for pin in _locked(lock) if canonicalize_name(pin.name) == named]
            assert pins, f"{lock} does not pin {asked}; run 'make lock'"
            # A pin may be split by Python version or system; those of the asked-for version count.
            versions = [str(pin.specifier).removeprefix("==") for pin in pins]
            assert any(wanted.specifier.contains(version) for version in versions)


@pytest.mark.parametrize("lock", [*_LOCKS, MUTANTS_LOCK])
def test_a_lock_pins_every_package_with_checksums(lock: str) -> None:
    """Each entry is one exact version with at least one SHA-256, and no address."""
    text = (_ROOT / lock).read_text(encoding="utf-8")
    entries = re.split(r"\n(?=[A-Za-z0-9])", "\n" + text)[1:]
    assert len(entries) == len(_locked(lock)) > 10
    for entry in entries:
        assert _PINNED.match(entry), entry
        assert "--hash=sha256:" in entry, entry
    assert "://" not in text


def test_the_locks_agree_with_each_other() -> None:
    """What two locks both pin is pinned to the same versions, so one environment serves all."""
    setup, run, test, mutants = (
        {(pin.name, str(pin.specifier)) for pin in _locked(lock)}
        for lock in (*_LOCKS, MUTANTS_LOCK)
    )
    assert run - test == set()
    names = {name for name, _ in run}
    assert {pin for pin in setup if pin[0] in names} - run == set()
    names = {name for name, _ in test}
    assert {pin for pin in mutants if pin[0] in names} - test == set()


def test_the_environment_is_closed() -> None:
    """Whatever an installed package asks for is installed too, in a version that it accepts."""
    locked = {canonicalize_name(pin.name) for lock in _LOCKS for pin in _locked(lock)}
    wrong = []
    for name in sorted(locked):
        try:
            asked = importlib.metadata.requires(name) or []
        except importlib.metadata.PackageNotFoundError:
            continue  # for another system
        for requirement in map(Requirement, asked):
            if requirement.marker and not requirement.marker.evaluate({"extra": ""}):
                continue
            try:
                version = importlib.metadata.version(requirement.name)
            except importlib.metadata.PackageNotFoundError:
                wrong.append(f"{name} misses {requirement}")
                continue
            if not requirement.specifier.contains(version, prereleases=True):
                wrong.append(f"{name} wants {requirement}, there is {version}")
    assert wrong == []


def test_source_only_packages_are_locked() -> None:
    """The exceptions from ready-made packages name packages that are really there."""
    names = {pin.name for pin in _locked(TEST_LOCK)}
    assert set(SOURCE_ONLY) <= names


def test_a_source_archive_carries_the_whole_checkout() -> None:
    """Everything that git keeps at the top is in the archive: it can be tested from there."""
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=_ROOT, capture_output=True, text=True, check=False
    )
    tops = {name.split("/")[0] for name in listed.stdout.split("\0") if name}
    if not tops:
        pytest.skip("this is no checkout")
    included = {
        name.strip("/")
        for name in _DESCRIPTION["tool"]["hatch"]["build"]["targets"]["sdist"]["include"]
    }
    by_themselves = {"pyproject.toml", "README.md", ".gitignore"}  # hatchling takes them along
    assert tops - included - by_themselves == set()
    assert included <= tops


def test_a_wheel_carries_the_data_and_finds_it(tmp_path: Path) -> None:
    """Unpacked far from any checkout, the built wheel reads its own copy of the data."""
    built = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=_ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert built.returncode == 0, built.stderr
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        archive.extractall(tmp_path / "site")
    tops = {name.split("/")[0] for name in names if ".dist-info/" not in name}
    assert tops == {"app", "speech", "engine"}
    for folder in ("shared", "assets"):
        kept = {file.relative_to(_ROOT / folder) for file in (_ROOT / folder).rglob("*.*")}
        carried = {
            Path(name).relative_to(f"app/_{folder}") for name in names if f"app/_{folder}/" in name
        }
        assert kept - carried == set()
    script = "from app import resources; print(resources.path('shared'))"
    environment = {**os.environ, "PYTHONPATH": str(tmp_path / "site")}
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert Path(done.stdout.strip()) == (tmp_path / "site" / "app" / "_shared").resolve()
