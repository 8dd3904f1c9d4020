"""Patterns in her own folder that cannot be read or counted: nothing is begun by them."""

from __future__ import annotations

from pathlib import Path

import pytest

from app import resources
from app.pieces import library
from app.session.draft import Draft, fields_of, plan_of
from app.session.navigation import Whereabouts, lead
from engine.replies import Say
from engine.state import PieceState
from engine.talk import BeginPiece

HOSTILE = Path(__file__).parents[1] / "hostile"
ENDLESS = 'title = "Endless"\ncast_on = 30\nrows = ["Row 1: k", "Rep row 1 999999999 times"]\n'


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return her folder of patterns, with a dozen bad ones in it."""
    monkeypatch.setattr(resources, "data_folder", lambda: tmp_path)
    folder = tmp_path / "patterns"
    folder.mkdir()
    for file in HOSTILE.glob("*.toml"):
        (folder / file.name).write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "endless.toml").write_text(ENDLESS, encoding="utf-8")
    (folder / "no text.toml").write_bytes(b"\xff\xfe")
    (folder / "folder.toml").mkdir()
    return folder


def test_all_that_can_be_opened_stand_on_the_shelf(own: Path) -> None:
    """Each has a title, and those that cannot be knitted a sentence why; nothing is raised."""
    shelf = library.patterns()
    assert len(shelf) >= len(list(HOSTILE.glob("*.toml"))) + 1
    for one in shelf:
        sizes = one.document.sizes if one.document is not None else ()
        for size in (*sizes, None):
            draft = Draft(pattern=one, size=size)
            assert draft.ready() is not bool(draft.trouble)
            assert fields_of(draft, dict.fromkeys(_KEYS, ""))
            assert plan_of(draft) == ()
    assert own.is_dir()


def test_a_pattern_without_end_is_not_cast_on(own: Path) -> None:
    """Asked for by name, confirmed or not, it is refused in a sentence."""
    for confirmed in (False, True):
        here = Whereabouts(PieceState(), lambda: (), "")
        led = lead([BeginPiece(text="endless")], here, confirmed=confirmed)
        assert led.going is None
        assert [one.say for one in led.replies] == [Say.PATTERN_FAULTY]
    assert own.is_dir()


_KEYS = ("stitches", "rows", "width", "length", "cast_on", "needle", "ball", "lot", "name")
