"""A phone's browser in a real class: Debian's Chromium and Firefox, without a screen."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.class_browsers import PROGRAMS, TALL, WIDE

if TYPE_CHECKING:
    from typing import Any

ROOT = Path(__file__).parent.parent.parent
AXE = os.environ.get("WALESONG_AXE", "")
"""Where axe.min.js of axe-core lies, if somebody has it: npm pack axe-core."""


@pytest.mark.parametrize("name", PROGRAMS)
def test_a_class_is_followed_in_a_browser(name: str, tmp_path: Path) -> None:
    """The words are filled in, a step comes by itself, stuck is told, back is her own."""
    program = PROGRAMS[name]
    if shutil.which(program) is None:
        pytest.skip(f"no {program} here: apt-get install {program}")
    command = [sys.executable, "-m", "tests.class_browsers", name, str(tmp_path)]
    done = subprocess.run(
        [*command, *([AXE] if AXE else [])], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    seen: dict[str, Any] = json.loads(done.stdout)
    assert seen["filled in"]
    assert seen["live"]
    assert seen["went back"]
    assert seen["axe"] == []
    for page in ("entrance", "board", "stuck"):
        assert seen[f"{page} too wide"] <= 0, page
        assert seen[f"{page} least target"] >= 48, page
        picture = (tmp_path / f"{page}.png").read_bytes()
        assert picture.startswith(b"\x89PNG")
        wide = int.from_bytes(picture[16:20], "big")
        assert wide >= WIDE
        assert int.from_bytes(picture[20:24], "big") >= TALL * wide // WIDE // 2
