"""The window opens as it lay; a damaged text, or a window nobody could read, is a first start."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from hypothesis import given
from hypothesis import strategies as st

from app.command_line import main
from app.display.window_frame import WindowFrame, read_frame, write_frame

if TYPE_CHECKING:
    import pytest


@given(
    st.builds(
        WindowFrame,
        st.integers(320, 8000),
        st.integers(400, 8000),
        st.integers(0, 8000),
        st.integers(0, 8000),
        whole=st.booleans(),
    )
)
def test_what_is_written_is_read(frame: WindowFrame) -> None:
    """Size, place and whether it filled the screen come back."""
    assert read_frame(write_frame(frame)) == frame


def test_what_cannot_be_a_window_is_a_first_start() -> None:
    """Nothing, nonsense, figures that are none, a window of ten pixels, one beyond the screen."""
    good = '{"width": 900, "height": 700, "left": 0, "top": 0, "whole": false}'
    assert read_frame(good) is not None
    for text in (
        "",
        "[]",
        "{",
        "[" * 5000,
        good.replace("900", "10"),
        good.replace("900", "true"),
        good.replace("700", '"700"'),
        good.replace('"left": 0', '"left": -4000'),
        good.replace("900", "1e9"),
    ):
        assert read_frame(text) is None, text


def test_the_desktop_entry_is_written_only_when_asked_and_goes_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both files are named; the program in it is this one; --remove leaves nothing."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr("sys.platform", "linux")
    assert main(["desktop"]) == 0
    entry = tmp_path / "applications" / "walesong.desktop"
    assert str(entry) in capsys.readouterr().out
    lines = dict(line.split("=", 1) for line in entry.read_text().splitlines() if "=" in line)
    assert lines["Name"] == "Walesong"
    assert Path(lines["Exec"].strip('"')).name == "walesong"
    assert (tmp_path / "icons/hicolor/scalable/apps/walesong.svg").is_file()
    assert main(["desktop", "--remove"]) == 0
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]


def test_elsewhere_a_sentence_says_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Another system has no such entries: nothing is written."""
    monkeypatch.setattr("sys.platform", "darwin")
    assert main(["desktop"]) == 3
    assert "only Linux" in capsys.readouterr().err
