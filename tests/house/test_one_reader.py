"""TOML is read within limits, whoever wrote it."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
READERS = {"engine/toml_text.py", "engine/pattern/toml_positions.py"}


def test_only_two_modules_read_toml() -> None:
    """The program reads TOML through the two readers that have limits, and nowhere else."""
    found = {
        str(file.relative_to(ROOT))
        for room in ("app", "engine", "speech")
        for file in (ROOT / room).rglob("*.py")
        if re.search(r"^\s*(?:import|from) tomllib", file.read_text(encoding="utf-8"), re.MULTILINE)
    }
    assert found == READERS
