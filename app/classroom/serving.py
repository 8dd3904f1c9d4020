"""
Opening and closing the class: a server on a thread of its own, on the local network only.

Off until it is opened. uvicorn with h11 speaks HTTP (pure Python, so it also goes onto a phone, and
as strict a reader of requests as there is); both come with the optional extra `class`.
"""

from __future__ import annotations

import ipaddress
import socket
import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Final

from app.classroom.entrance import Doorkeeper, four_words
from app.classroom.room import Room

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.classroom.site import Site
    from app.lessons.leading import LessonNow
    from app.session.settings import YarnHand

NEEDS: Final = "Learners' phones need more libraries: pip install starlette uvicorn segno."
NO_NETWORK: Final = "This device is in no local network: join one, then open the class again."
_PORT: Final = 8808
"""Tried first, so that the address stays the same from one week to the next."""
_STARTS_S: Final = 5.0
_MOST_TASKS: Final = 200
_LONGEST_REQUEST: Final = 8192
_ELSEWHERE: Final = "192.0.2.1"
"""An address kept for documents (RFC 5737): asked for the way there, nothing is sent to it."""


class ClassError(Exception):
    """The class cannot be opened; the sentence says why, and what helps."""


@dataclass(frozen=True, slots=True)
class Opened:
    """Where an open class is found: its address, its four words, and both as the QR code's dots."""

    address: str
    code: str
    dots: tuple[tuple[bool, ...], ...] = ()


def own_address() -> str:
    """Return this device's address in its local network; ClassError if it is in none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one:
        try:
            one.connect((_ELSEWHERE, 9))
            found = str(one.getsockname()[0])
        except OSError as error:
            raise ClassError(NO_NETWORK) from error
    if not ipaddress.ip_address(found).is_private or found.startswith("127."):
        raise ClassError(NO_NETWORK)
    return found


class Classroom:
    """One class that can be opened and closed; its methods may be called from any thread."""

    def __init__(self, words: Sequence[str], hand: Callable[[], YarnHand]) -> None:
        """Prepare; `words` are everyday words to make a code of, `hand` leads the yarn."""
        self.room = Room()
        self._words, self._hand = words, hand
        self._opened: Opened | None = None
        self._server: Any = None
        self._site: Site | None = None
        self._thread: threading.Thread | None = None

    @property
    def opened(self) -> Opened | None:
        """Where it is found; None: it is closed."""
        return self._opened

    def follow(self, now: LessonNow | None) -> None:
        """Show the phones what the board shows."""
        self.room.follow(now)

    def open(self, address: str | None = None) -> Opened:
        """
        Open it at an address of this device (None: the one in the local network).

        Raises ClassError with a sentence if it cannot be opened; then it is closed as before.
        """
        if self._opened is not None:
            return self._opened
        if any(find_spec(one) is None for one in ("uvicorn", "starlette", "segno")):
            raise ClassError(NEEDS)
        import segno  # noqa: PLC0415 (an optional extra)

        listening = _listening(address or own_address())
        host, port = listening.getsockname()[:2]
        code = four_words(self._words)
        where = f"{host}:{port}"
        self._run(listening, code, frozenset({where}))
        link = f"http://{where}/?code={code.replace(' ', '-')}"
        dots = tuple(tuple(map(bool, row)) for row in segno.make(link, error="m").matrix)
        self._opened = Opened(f"http://{where}", code, dots)
        return self._opened

    def _run(self, listening: socket.socket, code: str, hosts: frozenset[str]) -> None:
        """Serve on a thread; ClassError if it does not begin."""
        import uvicorn  # noqa: PLC0415 (an optional extra)

        from app.classroom.site import Site  # noqa: PLC0415 (the same)

        self._site = Site(self.room, Doorkeeper(code, time.monotonic), hosts, self._hand)
        config = uvicorn.Config(
            self._site,
            http="h11",
            ws="none",
            loop="asyncio",
            lifespan="off",
            log_config=None,
            access_log=False,
            server_header=False,
            proxy_headers=False,
            limit_concurrency=_MOST_TASKS,
            h11_max_incomplete_event_size=_LONGEST_REQUEST,
            timeout_keep_alive=10,
            timeout_graceful_shutdown=1,
        )
        server = self._server = uvicorn.Server(config)
        self._thread = threading.Thread(
            target=server.run, kwargs={"sockets": [listening]}, name="class", daemon=True
        )
        self._thread.start()
        until = time.monotonic() + _STARTS_S
        while not server.started and self._thread.is_alive() and time.monotonic() < until:
            time.sleep(0.01)
        if not server.started:
            self.close()
            raise ClassError("The class could not be opened; try once more.")

    def close(self) -> None:
        """Close it: every phone is let go, and the next class has other words."""
        site, server, thread = self._site, self._server, self._thread
        self._site = self._server = self._thread = self._opened = None
        if site is not None:
            site.close()
        if server is not None:
            server.should_exit = True
        if thread is not None:
            thread.join(_STARTS_S)
        self.room.empty()


def _listening(address: str) -> socket.socket:
    """Return a socket that listens at the usual port, or at another if that is taken."""
    for port in (_PORT, 0):
        one = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        with suppress(OSError):
            one.bind((address, port))
            one.listen(64)
            return one
        one.close()
    raise ClassError(NO_NETWORK)
