"""A word leads to what can be done: by name, by what can be said, by what it is for."""

from __future__ import annotations

from app import resources
from app.display.finding import found
from app.language import phrase_book
from app.session.controls import read_controls

CONTROLS = read_controls(resources.text("shared/window/controls.toml"))
ALL = [control for _, group in CONTROLS.groups for control in group]


def keys(words: str) -> list[str]:
    """Return the controls that words lead to."""
    return [one.key for one in found(words, ALL, phrase_book())]


def test_every_control_is_found_by_its_own_name() -> None:
    """The name of a control, typed or said, finds it; each is found once."""
    for control in ALL:
        assert control.key in keys(control.name), control.name
    assert len(keys("row")) == len(set(keys("row")))


def test_what_is_named_so_comes_before_what_only_speaks_of_it() -> None:
    """Yarn finds the question and the scale; names come first."""
    assert keys("lifeline")[0] in {"place_lifeline", "back_to_lifeline", "means_lifeline"}
    assert {"yarn_lasts", "weigh_yarn"} <= set(keys("yarn"))
    assert "how_k2tog" in keys("knit two tog")
    assert keys("cable")[0] == "how_cable"


def test_a_sentence_is_found_without_its_small_words_and_nonsense_is_not() -> None:
    """The yarn is yarn; words that nothing goes by find nothing, and so do no words."""
    assert keys("the yarn") == keys("yarn")
    assert keys("xylophone") == []
    assert keys("yarn xylophone") == []
    assert keys("  ") == []
