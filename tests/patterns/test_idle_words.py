"""No word of a written row is read past, but for those that are listed."""

from __future__ import annotations

from tests.patterns.idle_words import bound, idle_in, sample


def test_no_other_word_is_idle_than_those_listed() -> None:
    """
    Changing a number or deleting a stitch word changes the rows, or the line is refused.

    Whoever mends an idle word takes it off the list; a new one cannot come in.
    """
    idle, changed = idle_in(sample())
    assert changed > 100, "there is something to change"
    assert set(idle) == bound()
