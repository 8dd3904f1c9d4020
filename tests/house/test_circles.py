"""The check that no modules import one another in a circle."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from house import circles

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def house_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> str:
    """Lay a package of one-line modules that can be found; return its name."""
    name = f"made_up_{request.node.name.split('[')[0].removeprefix('test_')}"
    folder = tmp_path / name
    folder.mkdir()
    (folder / "__init__.py").touch()
    (folder / "alone.py").write_text("import fractions\n")
    monkeypatch.syspath_prepend(str(tmp_path))
    return name


def lay(tmp_path: Path, name: str, modules: dict[str, str]) -> None:
    """Write the modules of a package; `{}` in them is its name."""
    for module, text in modules.items():
        (tmp_path / name / f"{module}.py").write_text(text.format(name), encoding="utf-8")


HIDDEN = "def run():\n    from {} import knit\n"
FOR_TYPES = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from {} import knit\n"


def test_a_circle_is_named(
    house_of: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A circle fails, also one hidden in a function, and its modules are said in their order."""
    modules = {"knit": "from {}.purl import x\n", "purl": "import {}.yarn\n", "yarn": HIDDEN}
    lay(tmp_path, house_of, modules)
    assert circles.main([house_of]) == 1
    names = " -> ".join(f"{house_of}.{name}" for name in ("knit", "purl", "yarn", "knit"))
    assert capsys.readouterr().out == f"Circle of imports: {names}\n"


def test_of_many_a_shortest_is_named(
    house_of: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of modules that all lead to one another a shortest circle is told, and how many they are."""
    modules = {
        "knit": "from {} import purl\nfrom {0} import rib\n",
        "purl": "from {} import knit\n",
        "rib": "from {} import rows\n",
        "rows": "from {} import knit\n",
    }
    lay(tmp_path, house_of, {name: text.replace("{}", "{0}") for name, text in modules.items()})
    assert circles.main([house_of]) == 1
    names = " -> ".join(f"{house_of}.{name}" for name in ("knit", "purl", "knit"))
    assert capsys.readouterr().out == (
        f"Circle of imports: {names} (among 4 that lead to one another)\n"
    )


def test_a_circle_of_types_is_told_and_passes(
    house_of: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What only a type checker imports is told apart and does not fail."""
    lay(tmp_path, house_of, {"knit": "import {}.yarn\n", "yarn": FOR_TYPES})
    assert circles.main([house_of]) == 0
    told, passed = capsys.readouterr().out.splitlines()
    names = " -> ".join(f"{house_of}.{name}" for name in ("knit", "yarn", "knit"))
    assert told == f"Circle for the type checker only: {names}"
    assert passed == f"No circle of imports in {house_of}."
