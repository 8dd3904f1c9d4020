"""The Debian package, without making it: what Debian is told, what lies where, what is chosen."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from app import resources
from house import deb, system
from house.environment import ROOT, RUN_LOCK
from house.trouble import Trouble

if TYPE_CHECKING:
    from pathlib import Path

MINOR = sys.version_info.minor


def fields(architecture: str) -> dict[str, str]:
    """Return the fields of the control file that have one line."""
    lines = deb.control(architecture).splitlines()
    return dict(line.split(": ", 1) for line in lines if not line.startswith(" "))


@pytest.mark.parametrize(("architecture", "machine"), deb.MACHINES.items())
def test_debian_is_told_what_running_needs(architecture: str, machine: str) -> None:
    """All libraries that set-up names, and exactly the Python whose bytecode is inside."""
    said = fields(architecture)
    assert said["Architecture"] == architecture
    assert said["Version"] == deb.version()
    depends = said["Depends"].split(", ")
    assert {need.package for need in system.to_run(machine)} <= set(depends)
    assert {f"python3 (>= 3.{MINOR})", f"python3 (<< 3.{MINOR + 1})"} <= set(depends)
    assert len(depends) == len(set(depends))
    assert ("libatomic1" in depends) == (architecture == "arm64")


def test_each_processor_has_its_own_microphone() -> None:
    """The lock's conditions are weighed for the package's processor, not for the maker's."""
    lock = (ROOT / RUN_LOCK).read_text(encoding="utf-8")
    for machine, mine, other in (
        ("x86_64", "miniaudio", "sounddevice"),
        ("aarch64", "sounddevice", "miniaudio"),
    ):
        entries = list(deb.chosen(lock, machine))
        names = [entry.partition("==")[0] for entry in entries]
        assert mine in names
        assert other not in names
        assert {"kivy", "numpy", "vosk"} <= set(names)
        assert not any(name.startswith("kivy-deps") or name == "pywin32" for name in names)
        assert len(names) == len(set(names))
        assert all("--hash=sha256:" in entry for entry in entries)


def test_everything_lies_where_debian_looks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Starter, entry, icon, licence, model and data are in the tree, readable, and nothing else."""
    model = tmp_path / "cache" / resources.MODEL_NAME
    model.mkdir(parents=True)
    (model / "final.mdl").write_bytes(b"model")
    monkeypatch.setattr(resources, "cache_folder", lambda: tmp_path / "cache")
    tree = tmp_path / "tree"
    tree.mkdir()
    deb.fill(tree, "amd64")
    deb.trim(tree, "amd64")
    site = tree / deb.site()
    assert {part.name for part in tree.iterdir()} == {"DEBIAN", "usr"}
    assert (site / resources.MODEL_NAME / "final.mdl").is_file()
    assert (site / "shared" / "keys.toml").is_file()
    assert (site / "app" / "main.py").is_file()
    assert not (site / "house").exists()
    start = tree / deb.OWN / "bin" / "walesong"
    assert (tree / "usr/bin/walesong").resolve() == start
    assert start.stat().st_mode & 0o777 == 0o755
    assert (tree / deb.OWN / "bin" / "python3").readlink().name == f"python3.{MINOR}"
    shown = (tree / "usr/share/applications/walesong.desktop").read_text(encoding="utf-8")
    assert "\nExec=walesong\n" in shown
    assert "\nIcon=walesong\n" in shown
    assert (tree / "usr/share/icons/hicolor/scalable/apps/walesong.svg").is_file()
    assert "MIT License" in (tree / "usr/share/doc/walesong/copyright").read_text(encoding="utf-8")
    others = [file for file in tree.rglob("*") if not file.is_symlink()]
    assert all(file.stat().st_mode & 0o444 == 0o444 for file in others)
    ask = "from importlib import metadata; print(metadata.version('walesong'))"
    told = subprocess.run(
        (sys.executable, "-S", "-c", ask),
        env={"PYTHONPATH": str(site)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout.strip() == deb.version()


def test_a_library_for_another_processor_is_not_packed(tmp_path: Path) -> None:
    """What is built for x86 stops a package for ARM, and the sentence names it."""
    site = tmp_path / deb.site()
    site.mkdir(parents=True)
    (site / "libthing.so").write_bytes(b"\x7fELF\x02\x01\x01" + bytes(9) + b"\x03\x00\x3e\x00")
    with pytest.raises(Trouble, match=r"libthing\.so is not built for arm64"):
        deb.trim(tmp_path, "arm64")
    deb.trim(tmp_path, "amd64")
