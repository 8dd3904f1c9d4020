"""What is asked for at the cast-on is what is cast on, or refused with a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import resources
from app.command_line import main
from app.pieces.casting_on import new_piece
from app.pieces.values import NewPiece
from app.session.clock import SetClock
from app.session.opening import open_piece
from engine.commands import Source

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize("typed", ["M", "m"])
def test_a_size_typed_small_is_the_same_cap(typed: str, tmp_path: Path) -> None:
    """The cap in "m" is the cap in "M", round by round, not rows without a pattern."""
    new = new_piece(resources.text("shared/patterns/crew-cap.toml"), typed)
    assert isinstance(new, NewPiece)
    assert (new.name, new.size, new.cast_on) == ("Crew cap, M", "M", 96)
    talk = open_piece(tmp_path / "j", SetClock(), new, fresh=True, source=Source.KEY)
    assert talk.course.in_the_round
    assert str(talk.course.where({}, 1).instruction) == "*k2, p2; rep from * to end"
    talk.close()


def test_a_mirror_image_needs_its_piece(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Asked for without a piece to mirror, nothing is cast on and the sentence says what lacks."""
    pattern = str(resources.path("shared/patterns/mug-sleeve.toml"))
    journal = tmp_path / "j"
    line = ["knit", "--pattern", pattern, "--mirrored", "--journal", str(journal), "--silent"]
    assert main([*line, "--typed", str(tmp_path / "no-such-file")]) == 2
    assert "--same-as" in capsys.readouterr().err
    assert not journal.exists()
