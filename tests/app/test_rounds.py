"""Rounds are rounds wherever a piece that is worked in rounds is spoken of."""

from __future__ import annotations

from typing import Any

from app.display.board_view import board_view
from app.session.attention import Attention
from app.session.ports import Silent
from app.session.presenter import Presenter
from app.session.rest_reminder import Rests
from app.wording import reply_wording
from engine.facts.rounds import in_rounds
from engine.replies import Say, about_rounds, reply
from tests.app.at_the_needle import Needle
from tests.app.test_board_view import CONTROLS, words


def test_a_cap_has_rounds_and_a_sleeve_rows() -> None:
    """Which of both it is goes by the row on the needle, and at the end by the last one."""
    for pattern, size, rounds in (("crew-cap", "M", True), ("mug-sleeve", None, False)):
        needle = Needle(pattern, size)
        now = needle.situation()
        assert in_rounds(now.state, now.course) is rounds
        assert needle.talk.pieces()[0].rounds is rounds
        needle.say("row done", "this piece is finished", "yes")
        assert needle.situation().in_rounds is rounds


def test_answers_are_about_rounds() -> None:
    """Spoken and written answers say round for row; what is to be said aloud stays as it is."""
    wording = reply_wording()
    asked: dict[Say, dict[str, Any]] = {
        Say.CHANGE_AT: {"row": 13},
        Say.ROWS_LEFT: {"low": 3, "high": 5},
        Say.STOPPED: {"row": 4, "count": 9},
        Say.PIECE_FINISHED: {"row": 60},
        Say.ROW_HAS_NO_MORE: {},
        Say.NOTED: {"row": 3},
    }
    for say, values in asked.items():
        one = reply(say, **values)
        (other,) = about_rounds((one,))
        for tell in (wording.spoken, wording.written):
            assert tell(other) == tell(one).replace("row", "round").replace("Row", "Round"), say
    quoted = reply(Say.NO_SWATCH)
    assert wording.written(*about_rounds((quoted,))) == wording.written(quoted)


def test_the_board_of_a_cap_says_rounds() -> None:
    """An answer about a cap on the board is about its rounds."""
    now = Needle("crew-cap", "M").situation(replies=(reply(Say.CHANGE_AT, row=13),))
    assert board_view(now, words(), CONTROLS).answer == "The next change is in round 13."


def test_the_voice_speaks_of_rounds() -> None:
    """What is handed to the voice of a cap is marked; of a sleeve it is not."""
    for pattern, rounds in (("crew-cap", True), ("mug-sleeve", False)):
        voice = Silent()
        presenter = Presenter(lambda _: None, voice, Attention(voice), Rests())
        presenter.situation = Needle(pattern, "M" if rounds else None).situation()
        presenter.sound([reply(Say.ROW_HAS_NO_MORE)])
        assert [one.rounds for one in voice.answered[-1]] == [rounds]
