"""Killed at any moment, the journal holds everything that was acknowledged, in whole commands."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

from tests.durability.kills import check, kill, last_row, start

if TYPE_CHECKING:
    from pathlib import Path


def test_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    """A knitter is killed again and again over the same journal; no row that she saw is missing."""
    path = tmp_path / "killed.walesong"
    dice = Random(7)
    acknowledged = 0
    for _ in range(6):
        acknowledged = max(acknowledged, kill(path, "sleeve", dice))
        check(path, {"sleeve": acknowledged})
    assert acknowledged > 50


def test_two_processes_write_one_journal(tmp_path: Path) -> None:
    """Two who knit at once in one journal wait for each other; everything of both is kept."""
    path = tmp_path / "shared.walesong"
    knitters = {piece: start(path, piece, "60") for piece in ("left", "right")}
    acknowledged = {}
    for piece, knitter in knitters.items():
        said, _ = knitter.communicate(timeout=300)
        assert knitter.returncode == 0, said
        acknowledged[piece] = last_row(said)
    assert check(path, acknowledged) == sum(acknowledged.values())
    assert min(acknowledged.values()) >= 60


def test_one_is_killed_while_another_knits_on(tmp_path: Path) -> None:
    """A kill in one process neither stops the other nor costs either of them a row."""
    path = tmp_path / "shared.walesong"
    dice = Random(11)
    with start(path, "steady", "400") as steady:
        killed = max(kill(path, "killed", dice) for _ in range(2))
        said, _ = steady.communicate(timeout=300)
    assert steady.returncode == 0, said
    check(path, {"steady": last_row(said), "killed": killed})
