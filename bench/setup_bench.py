"""How long setting up takes: on a machine that has nothing yet, and again.

Sets a copy of this checkout up in an empty folder with an empty home, as a newcomer's first command
does, so it needs a network. The operating system's own packages are left as they are.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

_ROOT = Path(__file__).resolve().parent.parent
_KEPT = ("PATH", "LANG", "SystemRoot", "SSL_CERT_FILE", "REQUESTS_CA_BUNDLE", "PIP_CERT")


def main() -> int:
    """Measure each way of setting up once, and print a table."""
    with tempfile.TemporaryDirectory(prefix="walesong-setup-") as folder:
        home, checkout = Path(folder, "home"), Path(folder, "checkout")
        home.mkdir()
        _copy_to(checkout)
        print(f"{'setting up':<58}{'s':>8}")
        _row("to run, cold: nothing here, everything is fetched", checkout, home)
        print(f"    .venv {_megabytes(checkout / '.venv')} MB, model {_megabytes(_model(home))} MB")
        _row("to run, warm: all is there", checkout, home)
        _row("to test, after running: the test packages are added", checkout, home, "--for-tests")
        _row("to test, warm", checkout, home, "--for-tests")
        shutil.rmtree(checkout / ".venv")
        _row("to test, .venv gone, model there", checkout, home, "--for-tests")
    return 0


def _copy_to(checkout: Path) -> None:
    """Copy what belongs to the checkout, without what set-up has made in it."""
    made = shutil.ignore_patterns(".venv", ".git", ".prepare.*", "__pycache__", ".*_cache", "out")
    shutil.copytree(_ROOT, checkout, ignore=made)


def _row(what: str, checkout: Path, home: Path, *arguments: str) -> None:
    environment = {name: os.environ[name] for name in _KEPT if name in os.environ}
    environment |= {"HOME": str(home), "USERPROFILE": str(home), "LOCALAPPDATA": str(home)}
    python = getattr(sys, "_base_executable", None) or sys.executable
    started = time.perf_counter()
    subprocess.run(
        [python, "prepare.py", "setup", *arguments],
        cwd=checkout,
        env=environment,
        stdout=subprocess.DEVNULL,
        check=True,
    )
    print(f"{what:<58}{time.perf_counter() - started:>8.1f}", flush=True)


def _model(home: Path) -> Path:
    """Return the one folder below the home that is a speech model."""
    (found,) = home.rglob("vosk-model-*/am")
    return found.parent


def _megabytes(folder: Path) -> int:
    return round(sum(file.lstat().st_size for file in folder.rglob("*") if file.is_file()) / 1e6)


if __name__ == "__main__":
    sys.exit(main())
