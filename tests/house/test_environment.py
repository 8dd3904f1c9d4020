"""house.environment: when .venv is left alone, added to, or made anew."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import pytest

from house import environment
from house.trouble import Trouble

if TYPE_CHECKING:
    from pathlib import Path

_DESCRIPTION = """
[build-system]
requires = ["hatchling"]
[project]
name = "walesong"
dependencies = []
[tool.hatch.build]
dev-mode-dirs = ["."]
[tool.ruff]
line-length = 100
"""


class Checkout:
    """A small checkout in which commands are noted instead of being carried out."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.done: list[str] = []
        self.fails_at = ""
        (root / "pyproject.toml").write_text(_DESCRIPTION)
        for lock in (environment.SETUP_LOCK, environment.RUN_LOCK, environment.TEST_LOCK):
            (root / lock).write_text(f"{lock}==1\n")

    def carry_out(self, command: list[str], sentence: str) -> None:
        """Note what a command does; make the environment's Python when it is the one for that."""
        what = "make" if "venv" in command else command[-1]
        if what == self.fails_at:
            raise Trouble(sentence)
        self.done.append(what)
        if what == "make":
            environment.program("python").parent.mkdir(parents=True, exist_ok=True)
            environment.program("python").touch()

    def provide(self, *, for_tests: bool = False) -> list[str]:
        """Bring the environment in line; return what was done for it."""
        self.done.clear()
        environment.provide(for_tests=for_tests)
        return self.done


@pytest.fixture
def checkout(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Checkout:
    """Return a checkout without an environment."""
    made = Checkout(tmp_path)
    monkeypatch.setattr(environment, "ROOT", tmp_path)
    monkeypatch.setattr(environment, "FOLDER", tmp_path / ".venv")
    monkeypatch.setattr(environment, "LOG", tmp_path / ".prepare.log")
    monkeypatch.setattr(environment, "_run", made.carry_out)
    return made


_RUN = ["make", environment.SETUP_LOCK, environment.RUN_LOCK, "."]
_TEST = [*_RUN[:-1], environment.TEST_LOCK, "."]


def test_is_made_once(checkout: Checkout) -> None:
    """The first time everything is made, the second time nothing."""
    assert checkout.provide() == _RUN
    assert checkout.provide() == []


def test_testing_adds_to_what_running_made(checkout: Checkout) -> None:
    """Tests add their packages to the environment; running afterwards leaves it alone."""
    checkout.provide()
    assert checkout.provide(for_tests=True) == [environment.TEST_LOCK, "."]
    assert checkout.provide(for_tests=True) == []
    assert checkout.provide() == []


def test_testing_first_makes_all_at_once(checkout: Checkout) -> None:
    """An environment made for tests serves for running too."""
    assert checkout.provide(for_tests=True) == _TEST
    assert checkout.provide() == []


@pytest.mark.parametrize("lock", [environment.SETUP_LOCK, environment.RUN_LOCK])
def test_a_changed_lock_makes_it_anew(checkout: Checkout, lock: str) -> None:
    """No package of an older lock stays behind."""
    checkout.provide()
    (checkout.root / lock).write_text("other==2\n")
    assert checkout.provide() == _RUN


def test_a_changed_test_lock_matters_to_tests_only(checkout: Checkout) -> None:
    """Running does not care which packages the tests use."""
    checkout.provide(for_tests=True)
    (checkout.root / environment.TEST_LOCK).write_text("other==2\n")
    assert checkout.provide() == []
    assert checkout.provide(for_tests=True) == _TEST


def test_a_changed_project_is_installed_again(checkout: Checkout) -> None:
    """A change to the project's own description installs it again and nothing else."""
    checkout.provide()
    changed = _DESCRIPTION.replace("dependencies = []", 'scripts = {a = "b:c"}')
    (checkout.root / "pyproject.toml").write_text(changed)
    assert checkout.provide() == ["."]
    assert checkout.provide() == []


def test_a_changed_rule_of_style_changes_nothing(checkout: Checkout) -> None:
    """What only the linter reads is no reason to touch the environment."""
    checkout.provide()
    changed = _DESCRIPTION.replace("line-length = 100", "line-length = 99")
    (checkout.root / "pyproject.toml").write_text(changed)
    assert checkout.provide() == []


@pytest.mark.parametrize("step", _RUN)
def test_an_interrupted_making_starts_over(checkout: Checkout, step: str) -> None:
    """Wherever making the environment stops, the sentence says so and the next run starts over."""
    checkout.fails_at = step
    with pytest.raises(Trouble, match=r"could not be (made|installed)"):
        checkout.provide()
    checkout.fails_at = ""
    assert checkout.provide() == _RUN


def test_an_interrupted_addition_starts_over(checkout: Checkout) -> None:
    """Half of the test packages is no environment: it is made anew."""
    checkout.provide()
    checkout.fails_at = environment.TEST_LOCK
    with pytest.raises(Trouble):
        checkout.provide(for_tests=True)
    checkout.fails_at = ""
    assert checkout.provide(for_tests=True) == _TEST


def test_a_moved_checkout_makes_it_anew(
    checkout: Checkout, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """An environment names its own place in its programs, so it cannot be moved."""
    checkout.provide()
    (tmp_path / ".venv").rename(tmp_path / "moved")
    monkeypatch.setattr(environment, "FOLDER", tmp_path / "moved")
    assert checkout.provide() == _RUN


def test_a_vanished_python_makes_it_anew(checkout: Checkout) -> None:
    """When the system has replaced its Python, the environment's link leads nowhere."""
    checkout.provide()
    environment.program("python").unlink()
    environment.program("python").symlink_to(checkout.root / "python-of-yesterday")
    environment.program("python").parent.joinpath("keep").touch()
    checkout.fails_at = environment.SETUP_LOCK
    with pytest.raises(Trouble):
        checkout.provide()
    assert checkout.done == ["make"]


@pytest.mark.parametrize("content", ["", "{", "[]", "null", '"x"'])
def test_a_damaged_stamp_counts_for_nothing(checkout: Checkout, content: str) -> None:
    """A stamp that cannot be read is no stamp."""
    checkout.provide()
    (stamp,) = (checkout.root / ".venv").glob("*.json")
    stamp.write_text(content)
    assert checkout.provide() == _RUN


def test_a_failing_command_is_one_sentence_with_its_output_in_the_log(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """What a failing installer printed is kept in the log; the user reads one sentence."""
    monkeypatch.setattr(environment, "LOG", tmp_path / ".prepare.log")
    command = [sys.executable, "-c", "import sys; print('why it failed'); sys.exit(3)"]
    with pytest.raises(Trouble, match=r"It failed \(Details are in \.prepare\.log; then run again"):
        environment._run(command, "It failed")
    assert "why it failed" in (tmp_path / ".prepare.log").read_text()
