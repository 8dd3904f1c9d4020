"""Rows that are shaped at markers, worked again and again: every time the count goes on."""

from __future__ import annotations

import pytest

from app.pieces.pattern_cache import document_of
from engine.pattern import PatternDocument

HEAD = 'title = "Yoke"\ncast_on = 80\nin_the_round = true\n'
SET_UP = "Set-up rnd: k26, pm, k14, pm, k26, pm, k14."


@pytest.mark.parametrize(
    "shaped",
    [
        "Inc rnd: *m1R, k to m, m1L, sm; rep from * 3 more times.",
        "Inc rnd: *k1, m1L, k to 1 st before m, m1R, k1, sm; rep from * around.",
    ],
)
def test_the_count_goes_on_with_every_increase_round(shaped: str) -> None:
    """Eight more each time, in the verdict and in what is expected while it is knitted."""
    rows = [SET_UP, shaped, "Next rnd: knit.", "Rep last 2 rnds 20 more times. 248 sts."]
    read = document_of(f"{HEAD}rows = {rows}\n".replace("'", '"'))
    assert isinstance(read, PatternDocument), read
    (verdict,) = read.check()
    assert verdict.ok
    course = read.course()
    after = [course.where({}, row).after for row in range(2, 44)]
    assert after == [80 + 8 * (time // 2 + 1) for time in range(42)]
