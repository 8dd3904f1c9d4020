"""
A phone's browser in a real class, on this machine alone.

python -m tests.class_browsers chromium|firefox FOLDER [AXE]

Drives Debian's headless browser of a phone's size through a class, puts pictures into a folder and
prints what it saw as one line of JSON. Run as a program of its own: tests use no network. AXE is
the file axe.min.js of the accessibility checker axe-core, where somebody has it.
"""

from __future__ import annotations

import base64
import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from app import resources
from app.classroom.serving import Classroom
from app.lessons.leading import Leading, LessonNow
from app.lessons.lesson import read_lesson
from app.session.settings import YarnHand
from speech.words.sampler import read_fillers

if TYPE_CHECKING:
    from collections.abc import Callable

WIDE, TALL = 390, 844
PROGRAMS = {"chromium": "chromium", "firefox": "firefox-esr"}
_LONG_S = 60.0


class Browser(Protocol):
    """What a browser is asked."""

    def go(self, address: str) -> None:
        """Open a page."""

    def js(self, expression: str) -> Any:
        """Return the value of an expression; a promise is waited for."""

    def picture(self) -> bytes:
        """Return what is seen, as PNG."""

    def close(self) -> None:
        """End it."""


class Chromium:
    """Chromium over its debugging pipe: lines of JSON that end in a zero."""

    def __init__(self, profile: str) -> None:
        """Start it."""
        to_read, write = os.pipe()
        read, to_write = os.pipe()
        os.set_inheritable(to_read, True)  # noqa: FBT003 (as os has it)
        os.set_inheritable(to_write, True)  # noqa: FBT003 (the same)
        self._write, self._read, self._number, self._rest = write, read, 0, b""
        self._program = subprocess.Popen(
            ["sh", "-c", f'exec "$@" 3<&{to_read} 4>&{to_write}', "sh", PROGRAMS["chromium"],
             "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
             "--no-first-run", "--disable-background-networking", "--remote-debugging-pipe",
             f"--user-data-dir={profile}", f"--window-size={WIDE},{TALL}", "about:blank"],
            pass_fds=(to_read, to_write), stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(to_read)
        os.close(to_write)
        page = next(
            one for one in self._ask("Target.getTargets")["targetInfos"] if one["type"] == "page"
        )
        attached = self._ask("Target.attachToTarget", targetId=page["targetId"], flatten=True)
        self._session = attached["sessionId"]
        self._ask(
            "Emulation.setDeviceMetricsOverride",
            width=WIDE, height=TALL, deviceScaleFactor=2, mobile=True,
        )  # fmt: skip

    def _ask(self, method: str, **parameters: Any) -> Any:
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": parameters}
        if hasattr(self, "_session"):
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while True:
            while b"\0" not in self._rest:
                part = os.read(self._read, 1 << 20)
                if not part:
                    raise OSError("Chromium has ended.")
                self._rest += part
            one, _, self._rest = self._rest.partition(b"\0")
            answer = json.loads(one)
            if answer.get("id") == self._number:
                if "error" in answer:
                    raise RuntimeError(answer["error"])
                return answer["result"]

    def go(self, address: str) -> None:
        """Open a page."""
        self._ask("Page.navigate", url=address)
        _until(lambda: self.js("document.readyState") == "complete")

    def js(self, expression: str) -> Any:
        """Return the value of an expression; a promise is waited for."""
        found = self._ask(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        if "exceptionDetails" in found:
            raise RuntimeError(found["exceptionDetails"])
        return found["result"].get("value")

    def picture(self) -> bytes:
        """Return what is seen, as PNG."""
        return base64.b64decode(self._ask("Page.captureScreenshot", format="png")["data"])

    def close(self) -> None:
        """End it."""
        self._program.terminate()
        self._program.wait(_LONG_S)


class Firefox:
    """Firefox over Marionette: JSON with its length before it."""

    def __init__(self, profile: str) -> None:
        """Start it."""
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        Path(profile, "user.js").write_text(
            f'user_pref("marionette.port", {port});\nuser_pref("app.update.enabled", false);\n'
            'user_pref("datareporting.policy.dataSubmissionEnabled", false);\n'
            'user_pref("network.captive-portal-service.enabled", false);\n',
            encoding="utf-8",
        )
        self._program = subprocess.Popen(
            [PROGRAMS["firefox"], "--headless", "--marionette", "--remote-allow-system-access",
             "--profile", profile, "--width", str(WIDE), "--height", str(TALL)],
            stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
            env={**os.environ, "HOME": profile},
        )  # fmt: skip
        self._number, self._rest = 0, b""
        self._socket = _connected(port)
        self._message()
        self._ask("WebDriver:NewSession", {})
        self._ask("WebDriver:SetWindowRect", {"width": WIDE + 12, "height": TALL + 90})

    def _message(self) -> Any:
        while b":" not in self._rest:
            self._rest += self._socket.recv(1 << 16)
        length, _, self._rest = self._rest.partition(b":")
        while len(self._rest) < int(length):
            self._rest += self._socket.recv(1 << 20)
        one, self._rest = self._rest[: int(length)], self._rest[int(length) :]
        return json.loads(one)

    def _ask(self, command: str, parameters: dict[str, Any]) -> Any:
        self._number += 1
        message = json.dumps([0, self._number, command, parameters])
        self._socket.sendall(f"{len(message)}:{message}".encode())
        _, _, error, found = self._message()
        if error:
            raise RuntimeError(error)
        return found

    def go(self, address: str) -> None:
        """Open a page."""
        self._ask("WebDriver:Navigate", {"url": address})

    def js(self, expression: str) -> Any:
        """Return the value of an expression; a promise is waited for."""
        script = f"return ({expression});"
        return self._ask("WebDriver:ExecuteScript", {"script": script, "args": []})["value"]

    def picture(self) -> bytes:
        """Return what is seen, as PNG."""
        found = self._ask("WebDriver:TakeScreenshot", {"full": False})
        return base64.b64decode(found["value"])

    def close(self) -> None:
        """End it."""
        self._socket.close()
        self._program.terminate()
        self._program.wait(_LONG_S)


def _connected(port: int) -> socket.socket:
    until = time.monotonic() + _LONG_S
    while True:
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=_LONG_S)
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.2)


def _until(true: Callable[[], Any]) -> None:
    """Wait until something holds."""
    until = time.monotonic() + _LONG_S
    while not true():
        if time.monotonic() > until:
            raise TimeoutError
        time.sleep(0.05)


def walk(browser: Browser, folder: Path, axe: Path | None) -> dict[str, Any]:
    """Come in, see a step, see the next one live, answer, go back; return what was seen."""
    lesson = read_lesson(resources.text("shared/lessons/1-first-stitches.toml"))
    words = read_fillers(resources.text("shared/phrases/filler.en.txt"))
    classroom = Classroom(words, lambda: YarnHand.RIGHT)
    opened = classroom.open("127.0.0.1")
    seen: dict[str, Any] = {"axe": []}

    def at(step: int) -> None:
        classroom.follow(LessonNow(Leading(lesson, at=step, in_class=True)))

    def shows(words: str) -> None:
        _until(lambda: words in str(browser.js("(document.body || {}).innerText")))

    def look(name: str) -> None:
        _until(lambda: browser.js("document.readyState") == "complete")
        (folder / f"{name}.png").write_bytes(browser.picture())
        over = "document.documentElement.scrollWidth - window.innerWidth"
        seen[f"{name} too wide"] = browser.js(over)
        least = (
            "Math.min(...[...document.querySelectorAll('button, a.button, input')]"
            ".map(one => one.getBoundingClientRect().height))"
        )
        seen[f"{name} least target"] = browser.js(least)
        if axe is not None:
            browser.js(f"(function () {{ {axe.read_text(encoding='utf-8')} }}()) || 1")
            found = browser.js(
                "axe.run().then(found => [found.passes.length,"
                " found.violations.map(one => one.id + ': ' + one.help)])"
            )
            seen[f"{name} rules kept"] = found[0]
            seen["axe"] += [f"{name}: {one}" for one in found[1]]

    try:
        at(3)
        browser.go(f"{opened.address}/?code={opened.code.replace(' ', '-')}")
        seen["filled in"] = browser.js("document.getElementById('code').value") == opened.code
        look("entrance")
        browser.js("document.querySelector('form').requestSubmit() || 1")
        shows("In: push the tip")
        at(4)
        shows("Round: bring the yarn")
        seen["live"] = True
        look("board")
        browser.js("document.querySelector('button[value=stuck]').click() || 1")
        _until(lambda: classroom.room.seats()[0].answer == "stuck")
        _until(lambda: browser.js("!!document.querySelector('[value=stuck][aria-pressed=true]')"))
        look("stuck")
        browser.js("document.querySelector('a.button').click() || 1")
        shows("the class is at 5")
        at(5)
        shows("the class is at 6")
        seen["went back"] = "In: push the tip" in str(browser.js("(document.body || {}).innerText"))
        browser.js("[...document.querySelectorAll('a.button')].pop().click() || 1")
        shows("Through: bring the tip")
        seen["scripts"] = browser.js("document.scripts.length")
    finally:
        classroom.close()
    return seen


def main() -> int:
    """Walk, and print what was seen."""
    name, folder = sys.argv[1], Path(sys.argv[2])
    axe = Path(sys.argv[3]) if len(sys.argv) > 3 else None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        browser: Browser = Chromium(profile) if name == "chromium" else Firefox(profile)
        try:
            sys.stdout.write(json.dumps(walk(browser, folder, axe)) + "\n")
        finally:
            browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
