"""The package for trying: nothing untrusted is used unasked, and what goes in is known."""

from __future__ import annotations

import gzip
import os
import re
import shutil
import subprocess
import tarfile
import time
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from house import phone_check, phone_parts, phone_trial
from house.trouble import Trouble

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

ROOT = phone_trial.ROOT


def never(*_: object) -> Path:
    """Fail: this must not be asked for."""
    raise AssertionError


def test_whose_builds_they_are_is_said_before_anything_is_fetched(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without the word for it nothing is fetched or made; each private build is named."""
    monkeypatch.setattr(phone_trial, "provide", never)
    monkeypatch.setattr(phone_trial, "check_tools", never)
    assert phone_trial.main([]) == 1
    said = capsys.readouterr().out
    private = [one for one in phone_parts.parts() if one.private]
    assert len(private) == 2
    for part in private:
        assert part.coordinate in said
        assert part.made_by in said
    assert "private persons" in said
    assert "--trust-parts" in said


def test_every_part_says_what_it_is_and_where_it_is_from() -> None:
    """Coordinate, size, checksum, licence and maker stand there, and no address of anybody."""
    for part in (*phone_parts.parts(), *phone_parts.parts("check")):
        assert re.fullmatch(r"[\w-]+==[\w.]+|[\w.-]+(:[\w.-]+){3}", part.coordinate)
        assert re.fullmatch(r"[0-9a-f]{64}", part.sha256)
        assert part.size > 0
        assert part.licence
        assert part.made_by
    assert "://" not in phone_parts.PARTS.read_text(encoding="utf-8")


def test_a_part_that_differs_in_a_byte_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of the right size and name but with another byte it is fetched again, and then refused."""
    part = replace(phone_parts.parts()[0], file="part.whl", size=4)
    (tmp_path / "part.whl").write_bytes(b"what")
    asked: list[Sequence[str]] = []

    class Done:
        returncode = 0

    def run(command: Sequence[str], **_: object) -> Done:
        asked.append(command)
        return Done()

    monkeypatch.setattr("house.phone_parts.subprocess.run", run)
    with pytest.raises(Trouble, match="nothing is made"):
        phone_parts.provide(part, tmp_path)
    assert asked[0][-1] == part.coordinate


def test_it_may_hear_and_cannot_talk_to_anyone() -> None:
    """The manifest asks for what the adapters use and for no network; rotation restarts nothing."""
    manifest = (ROOT / "phone" / "AndroidManifest.xml").read_text(encoding="utf-8")
    asked = re.findall(r'uses-permission android:name="android\.permission\.(\w+)"', manifest)
    assert set(asked) == phone_check.PERMITTED
    assert 'targetSdkVersion="33"' in manifest
    changes = re.findall(r'configChanges="(.*?)"', manifest)[0].split("|")
    assert {"orientation", "screenSize", "keyboardHidden", "fontScale", "uiMode"} <= set(changes)


def test_the_same_files_are_the_same_bytes(tmp_path: Path) -> None:
    """Dates and the order of making them do not matter; its form is what Android unpacks."""
    for folder, names in (("one", "ab"), ("two", "ba")):
        for name in names:
            (tmp_path / folder / name).mkdir(parents=True)
            file = tmp_path / folder / name / "x.pyc"
            file.write_bytes(name.encode() * 1000)
            os.utime(file, (time.time(), len(folder) * 1000.0 * ord(name)))
    one, two = (phone_trial.packed(tmp_path / folder) for folder in ("one", "two"))
    assert one == two
    plain = gzip.decompress(one)
    assert plain[257:263] == b"ustar\0"
    (tmp_path / "again.tar").write_bytes(plain)
    with tarfile.open(tmp_path / "again.tar") as archive:
        assert archive.getnames() == ["a", "a/x.pyc", "b", "b/x.pyc"]
        assert {(entry.mtime, entry.uid, entry.uname) for entry in archive} == {(0, 0, "")}


def test_without_a_package_there_is_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Looking into a package that was not made says how it is made."""
    assert phone_check.main([str(tmp_path / "none.apk")]) == 1
    assert "make phone-trial" in capsys.readouterr().err


@pytest.mark.skipif(shutil.which("javap") is None, reason="no Java (default-jdk-headless)")
def test_a_double_that_has_what_the_framework_has_not_is_noticed(tmp_path: Path) -> None:
    """Members are told with their signatures: another type is another member."""
    for folder, kind in (("ours", "int"), ("theirs", "long")):
        source = tmp_path / folder / "Box.java"
        source.parent.mkdir()
        source.write_text(
            f"public class Box {{ public {kind} wide; public void put({kind} a) {{}} }}\n",
            encoding="utf-8",
        )
        subprocess.run(("javac", "-d", str(source.parent), str(source)), check=True)
    ours, theirs = (phone_check.members(str(tmp_path / one), "Box") for one in ("ours", "theirs"))
    assert ours == {"Box ()V", "wide I", "put (I)V"}
    assert ours - theirs == {"wide I", "put (I)V"}


@pytest.mark.model
def test_a_package_that_was_made_is_what_it_should_be(capsys: pytest.CaptureFixture[str]) -> None:
    """Where somebody has made one here: signed, aligned, without a network, and it hears."""
    if not phone_trial.MADE.is_file():
        pytest.skip('no package was made here (make phone-trial ARGS="--trust-parts")')
    assert phone_check.main([]) == 0, capsys.readouterr().out
