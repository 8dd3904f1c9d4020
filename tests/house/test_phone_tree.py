"""What goes into a phone's package: nothing is missing, and it starts from bytecode alone."""

from __future__ import annotations

import compileall
import configparser
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from app import resources
from house.phone_tree import ROOT, lay_out
from house.trouble import Trouble

SPEC = ROOT / "phone" / "buildozer.spec"

NOT_ON_A_PHONE = {"vosk", "miniaudio", "sounddevice"}
"""The recogniser comes as a library, the microphone is the system's."""


def spec() -> configparser.SectionProxy:
    """Return what the build is told."""
    parser = configparser.ConfigParser(interpolation=None)
    parser.read(SPEC, encoding="utf-8")
    return parser["app"]


def test_every_package_is_named_that_the_product_needs() -> None:
    """What the product is made from and what the build installs are the same list."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = {re.split(r"[^A-Za-z0-9-]", line)[0] for line in project["dependencies"]}
    named = {line.partition("==")[0] for line in spec()["requirements"].split(",")}
    assert wanted - NOT_ON_A_PHONE <= named
    assert spec()["version"] == project["version"]


def test_it_cannot_talk_to_anyone_and_may_hear() -> None:
    """The package asks for no network; what it asks for is what the adapters use."""
    permissions = {name.strip() for name in spec()["android.permissions"].split(",")}
    assert permissions == {
        f"android.permission.{name}" for name in ("RECORD_AUDIO", "VIBRATE", "WAKE_LOCK")
    }
    assert int(spec()["android.api"]) == 33


def test_without_a_model_there_is_a_sentence(tmp_path: Path) -> None:
    """A package that hears nothing is not laid out, and what was there stays."""
    (tmp_path / "tree").mkdir()
    with pytest.raises(Trouble, match="make setup"):
        lay_out(tmp_path / "tree", tmp_path / "no-model")
    assert (tmp_path / "tree").is_dir()


@pytest.mark.model
def test_it_starts_and_hears_from_bytecode_alone(tmp_path: Path) -> None:
    """Compiled as the build does and without sources, it hears a recording with its own model."""
    tree = tmp_path / "tree"
    lay_out(tree, resources.model_folder())
    model = {file.suffix for file in (tree / resources.MODEL_NAME).rglob("*") if file.is_file()}
    assert {".conf", ".mdl", ".fst", ".int", ".ie", ".dubm", ".mat", ".stats"} <= model
    assert compileall.compile_dir(tree, quiet=1, legacy=True, optimize=2, workers=1)
    for source in tree.rglob("*.py"):
        source.unlink()
    recording = Path(__file__).parents[1] / "speech" / "recordings" / "row-done.wav"
    environment = {name: value for name, value in os.environ.items() if name != "WALESONG_MODEL"}
    run = subprocess.run(
        (sys.executable, "-OO", "main.pyc", "hear", str(recording)),
        cwd=tree,
        env={**environment, "XDG_CACHE_HOME": str(tmp_path), "PYTHONPATH": str(tree)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    assert "row done" in run.stdout


def test_the_build_takes_every_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The builder's own check passes, and its own copying leaves no file out."""
    buildozer = pytest.importorskip(
        "buildozer", reason="no builder (python -m pip install buildozer)"
    )
    tree = tmp_path / "tree"
    lay_out(tree, resources.model_folder())
    text = SPEC.read_text(encoding="utf-8").replace("../build/phone\n", f"{tree}\n")
    (tmp_path / "buildozer.spec").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    builder = buildozer.Buildozer("buildozer.spec")
    builder.targetname = "android"
    builder.check_configuration_tokens()
    Path(builder.app_dir).mkdir(parents=True)
    builder._copy_application_sources()
    taken = {file.relative_to(builder.app_dir) for file in Path(builder.app_dir).rglob("*")}
    assert {file.relative_to(tree) for file in tree.rglob("*")} <= taken
