"""The listener put to rest: a device in a pocket gives its microphone back, and takes it again."""

from __future__ import annotations

import pytest

from speech.hearing.sources import ScriptedSource
from tests.speech.test_listener import PIECE, Desk, Endless, _until


def test_while_it_rests_the_source_is_given_back() -> None:
    """It says so, opens nothing, forgets what was half heard, and hears again when it is woken."""
    source = Endless()
    desk = Desk(source)
    desk.listener.start()
    _until(lambda: "feed" in desk.notebook.did)
    desk.listener.rest()
    _until(lambda: source.closed == 1)
    assert desk.kinds[-1] == "MicLost"
    assert desk.notebook.did[-1] == "reset"
    opened, fed = source.opened, desk.notebook.did.count("feed")
    desk.listener.wake()
    _until(lambda: desk.notebook.did.count("feed") > fed)
    assert (opened, source.opened) == (1, 2)
    assert [kind for kind in desk.kinds if kind.startswith("Mic")] == ["MicLost", "MicBack"]
    desk.listener.stop()


def test_it_rests_before_it_has_begun() -> None:
    """Put away while the model loads, it asks for nothing; it is ready when it is seen again."""
    source = Endless()
    desk = Desk(source)
    desk.listener.rest()
    desk.listener.start()
    assert not desk.listener.wait(0.1)
    assert (source.opened, desk.kinds) == (0, [])
    desk.listener.wake()
    _until(lambda: "feed" in desk.notebook.did)
    assert desk.kinds[0] == "Ready"
    desk.listener.stop()


@pytest.mark.parametrize("lost", [True, False])
def test_it_can_be_stopped_while_it_rests(lost: bool) -> None:  # noqa: FBT001 (a case of two)
    """Closed in the pocket, also without a microphone, nothing keeps the program from ending."""
    source = ScriptedSource([PIECE, *[None] * 10_000], refusals=10_000 if lost else 0)
    desk = Desk(source)
    desk.listener.start()
    _until(lambda: "MicLost" in desk.kinds)
    desk.listener.rest()
    desk.listener.stop()
    assert desk.listener.wait(0.0)
