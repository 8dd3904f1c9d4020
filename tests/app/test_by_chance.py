"""A small set of files and histories with slips in them; `make fuzz` tries many more."""

from __future__ import annotations

from random import Random

import pytest

from tests.by_chance import TARGETS

TRIES = {"patterns printed": 4, "knitted and changed": 6}


@pytest.mark.parametrize("name", TARGETS)
def test_slips_are_sentences(name: str) -> None:
    """Whatever is put in by chance is read or refused; nothing is raised and nothing hangs."""
    for seed in range(TRIES.get(name, 25)):
        TARGETS[name](Random(f"{name} {seed}"))
