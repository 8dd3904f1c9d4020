"""house.one_at_a_time: set-ups that start together wait for each other."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from house.one_at_a_time import one_at_a_time
from house.trouble import Trouble

_ROOT = Path(__file__).parent.parent.parent
_HOLD = """
import sys, time
from pathlib import Path
from house.one_at_a_time import one_at_a_time
with one_at_a_time(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def _holder(lock: Path) -> subprocess.Popen[str]:
    """Start a process that holds the lock, and return once it does."""
    holder = subprocess.Popen(
        [sys.executable, "-c", _HOLD, str(lock)], cwd=_ROOT, stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    return holder


def test_a_second_process_waits_and_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """While one process holds the lock, another does not get it, says so, and ends in time."""
    with _holder(tmp_path / "lock") as holder:
        with (
            pytest.raises(Trouble, match="Another set-up has held"),
            one_at_a_time(tmp_path / "lock", patience_s=0.5),
        ):
            pytest.fail("two processes held the same lock")
        assert "Another set-up is at work" in capsys.readouterr().out
        holder.kill()


def test_a_killed_holder_frees_the_lock(tmp_path: Path) -> None:
    """A set-up that was killed leaves nothing behind that stops the next one."""
    with _holder(tmp_path / "lock") as holder:
        holder.kill()
        holder.wait()
    with one_at_a_time(tmp_path / "lock", patience_s=5):
        assert (tmp_path / "lock").exists()


def test_a_place_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    """Where no file can be made, the sentence names the folder."""
    (tmp_path / "file").write_text("in the way")
    with (
        pytest.raises(Trouble, match="Setting up needs to write in"),
        one_at_a_time(tmp_path / "file" / "lock"),
    ):
        pytest.fail("held a lock that cannot exist")


_HOLD_WITH_CHILD = """
import subprocess, sys, time
from pathlib import Path
from house.one_at_a_time import one_at_a_time
with one_at_a_time(Path(sys.argv[1])):
    sleep = [sys.executable, "-c", "import time; time.sleep(60)"]
    print(subprocess.Popen(sleep, stdout=subprocess.DEVNULL, close_fds=False).pid, flush=True)
    time.sleep(60)
"""


def test_the_work_of_a_killed_holder_is_waited_for(tmp_path: Path) -> None:
    """While an installer that a killed set-up started still runs, the place stays locked."""
    if sys.platform == "win32":
        pytest.skip("locks are not handed on there")
    lock = tmp_path / "lock"
    holder = subprocess.Popen(
        [sys.executable, "-c", _HOLD_WITH_CHILD, str(lock)],
        cwd=_ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )
    with holder:
        assert holder.stdout is not None
        installer = int(holder.stdout.readline())
        holder.kill()
    with pytest.raises(Trouble), one_at_a_time(lock, patience_s=0.3):
        pytest.fail("took the place of an installer that was still at work")
    os.kill(installer, signal.SIGKILL)
    with one_at_a_time(lock, patience_s=5):
        assert lock.exists()
