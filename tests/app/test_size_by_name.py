"""A size is the one the pattern names, however it is typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app import resources
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
