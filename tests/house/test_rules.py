"""The rules of the house that no linter knows."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

_ROOT = Path(__file__).parent.parent.parent
_LONGEST_MODULE = 500
_FOR_ANY_PYTHON = ("__init__", "python", "system", "trouble")

# Put together here, so that this file does not contain what it looks for.
_REGISTRIES = [
    "pypi" + ".org",
    "python" + "hosted",
    "repo" + "1.maven",
    "maven" + ".apache",
    "maven" + ".google",
    "npm" + "js",
    "crates" + ".io",
    "deb" + ".debian",
    "conda" + ".anaconda",
]
_REGISTRY = re.compile("|".join(map(re.escape, _REGISTRIES)))
_HOMES = re.compile(r"(?<![\w.$~-])/" + "(?:work|root|home|Users|tmp)/" + r"\w+")


@cache
def _kept_files() -> tuple[Path, ...]:
    """Return every file of the checkout that belongs to it (not what .gitignore leaves out)."""
    listing = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    try:
        listed = subprocess.run(listing, cwd=_ROOT, capture_output=True, text=True, check=True)
        found = [_ROOT / name for name in listed.stdout.split("\0") if name]
    except (OSError, subprocess.CalledProcessError):
        # An unpacked source archive has no git; it holds nothing but what belongs to it.
        hidden = re.compile(r"/(?:\.[^/]+|__pycache__|build|dist|out)/")
        found = [file for file in _ROOT.rglob("*") if not hidden.search(f"/{_name(file)}")]
    return tuple(sorted(file for file in found if file.is_file()))


def _texts() -> list[tuple[Path, str]]:
    """Return the files that are text, with their text."""
    texts = []
    for file in _kept_files():
        content = file.read_bytes()
        if b"\0" not in content[:4096]:
            texts.append((file.relative_to(_ROOT), content.decode("utf-8", errors="replace")))
    return texts


def _modules() -> list[Path]:
    return [file for file in _kept_files() if file.suffix == ".py"]


def _name(file: Path) -> str:
    return file.relative_to(_ROOT).as_posix()


def test_looks_at_this_very_file() -> None:
    """The list of files is not empty by mistake."""
    assert Path(__file__) in _modules()


def test_knows_what_it_looks_for() -> None:
    """The two searches find an address and a path when there is one, and nothing else."""
    assert _REGISTRY.search("https://files.python" + "hosted.org/x")
    assert _HOMES.search("see /home" + "/somebody/walesong")
    assert not _HOMES.search("see ~/home/, ./tmp/x, app/work/x and $HOME/work/x")


def test_no_file_names_a_registry() -> None:
    """No file, lock files included, ties the project to the address of a package registry."""
    found = [f"{file}: {m[0]}" for file, text in _texts() for m in _REGISTRY.finditer(text)]
    assert found == []


def test_no_file_names_a_place_on_somebodys_machine() -> None:
    """No file holds an absolute path that is true on one machine only."""
    found = [f"{file}: {m[0]}" for file, text in _texts() for m in _HOMES.finditer(text)]
    assert found == []


def test_a_module_is_short_enough_to_read() -> None:
    """A module that passes 500 lines has two stories to tell and is split."""
    lines = {_name(file): file.read_text(encoding="utf-8").count("\n") for file in _modules()}
    assert {name: count for name, count in lines.items() if count > _LONGEST_MODULE} == {}


def test_every_test_says_what_it_proves() -> None:
    """Each test has a docstring that is a sentence."""
    silent = [
        f"{_name(file)}:{node.lineno}: {node.name}"
        for file in _modules()
        if file.name.startswith("test_")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef)
        and node.name.startswith("test")
        and not (ast.get_docstring(node) or "").strip().endswith((".", "!", "?"))
    ]
    assert silent == []


@pytest.mark.parametrize(
    "name",
    ["prepare.py", "house/__init__.py", "house/python.py", "house/system.py", "house/trouble.py"],
)
def test_an_older_python_can_read_the_front_of_set_up(name: str) -> None:
    """What has to run before a fitting Python is found is written in the language of Python 3.8."""
    ast.parse((_ROOT / name).read_text(encoding="utf-8"), feature_version=(3, 8))


def test_set_up_uses_the_standard_library_only() -> None:
    """prepare.py, and whatever it takes along when it is started, needs no package installed."""
    waiting, seen = ["prepare"], set[str]()
    while waiting:
        module = waiting.pop()
        if module in seen:
            continue
        seen.add(module)
        for name in _imported(_ROOT / f"{module.replace('.', '/')}.py"):
            if name.startswith("house."):
                waiting.append(name)
            else:
                top = name.split(".")[0]
                assert top in sys.stdlib_module_names, f"{module} imports {name}"
    assert {"house.environment", "house.python", "house.system", "house.tasks"} <= seen


def _imported(file: Path) -> list[str]:
    """Return the modules that a file imports, anywhere in it."""
    names = []
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module == "house":
            names += [f"house.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names.append(node.module or "")
    return names


def test_ci_does_what_the_readme_says() -> None:
    """The automatic check runs the README's test command and nothing else."""
    lines = (_ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    commands = [line for line in lines if line and not line.startswith("#")]
    assert commands == ['cd "$(dirname "$0")/.." && exec make test']
    assert "    make test" in (_ROOT / "README.md").read_text(encoding="utf-8")
