"""Practice recordings in which pieces are made up aloud: what comes out is the shipped pattern."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.pieces.journal_files import read_journal
from app.pieces.pattern_cache import course_of, document_of
from app.wiring.practice import INVENTED
from engine.compose.written_out import ends_of_parts, written_out
from engine.history import fold
from engine.pattern import Course, PatternDocument
from tests.product import bare, run

if TYPE_CHECKING:
    from pathlib import Path


def course_from(text: str) -> Course:
    """Return the course of a pattern's text in its first size; it has to add up."""
    document = document_of(text)
    assert isinstance(document, PatternDocument), document
    course = document.course(document.sizes[0] if document.sizes else None)
    assert not course.problems
    return course


@pytest.mark.model
@pytest.mark.parametrize("name", list(INVENTED))
def test_what_is_invented_aloud_is_the_shipped_pattern(name: str, tmp_path: Path) -> None:
    """Played with the model, the piece is written out row for row as its pattern has it."""
    journal = tmp_path / "made.walesong"
    arguments = ("--terminal", "--practice", name, "--fast", "--silent", "--journal", journal)
    played = run(*arguments, env=bare(os.environ))
    assert played.returncode == 0, played.stderr
    state = fold(read_journal(journal))
    course = course_of(state)
    made = course_from(written_out(state, course))
    title = INVENTED[name].casefold().replace(" ", "-")
    shipped = course_from(resources.text(f"shared/patterns/{title}.toml"))
    ends = ends_of_parts(state, course)

    def rows(one: Course) -> list[tuple[object, ...]]:
        ended = {loop.id: row for loop, row in zip(one.loops, ends, strict=True)}
        places = [one.where(ended, row) for row in range(1, state.done + 1)]
        return [(str(row.instruction), row.side, row.before, row.after) for row in places]

    assert rows(made) == rows(shipped)
    assert [str(one.target) for one in made.loops] == [str(one.target) for one in shipped.loops]
