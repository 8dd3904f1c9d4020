"""Phones of a class without a network: requests to its pages over a socket of the file system."""

from __future__ import annotations

import socket
import threading
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import uvicorn

from app.classroom.entrance import Doorkeeper
from app.classroom.room import Room
from app.classroom.site import Site
from app.session.settings import YarnHand

if TYPE_CHECKING:
    from pathlib import Path

HOST = "192.168.1.7:8808"
CODE = "basket garden yellow window"


@dataclass
class Phone:
    """One phone: what it sends has the class's own address unless told otherwise."""

    path: Path
    cookie: str = ""
    answered: list[str] = field(default_factory=list)

    def raw(self, request: bytes, *, wait_s: float = 10.0) -> bytes:
        """Send bytes as they are; return all that comes back until the other side closes."""
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as one:
            one.settimeout(wait_s)
            one.connect(str(self.path))
            found = b""
            try:
                one.sendall(request)
                one.shutdown(socket.SHUT_WR)
                while part := one.recv(65536):
                    found += part
            except (TimeoutError, ConnectionError, BrokenPipeError):
                pass
            return found

    def ask(self, method: str, path: str, body: str = "", **headers: str) -> tuple[int, str, str]:
        """Return status, headers and body of an answer; keeps the cookie that is set."""
        named = {"Host": HOST, "Connection": "close"}
        if self.cookie:
            named["Cookie"] = f"seat={self.cookie}"
        if method == "POST":
            named |= {
                "Content-Type": "application/x-www-form-urlencoded",
                "Content-Length": str(len(body)),
            }
        named |= {name.replace("_", "-").title(): value for name, value in headers.items()}
        lines = [f"{method} {path} HTTP/1.1", *(f"{n}: {v}" for n, v in named.items() if v)]
        found = self.raw(("\r\n".join(lines) + "\r\n\r\n" + body).encode()).decode()
        head, _, rest = found.partition("\r\n\r\n")
        for line in head.splitlines():
            if line.lower().startswith("set-cookie: seat="):
                self.cookie = line.partition("=")[2].partition(";")[0]
        return int(head.split()[1]), head.lower(), rest

    def come_in(self) -> Phone:
        """Put the four words in."""
        status, _, _ = self.ask("POST", "/enter", "code=" + CODE.replace(" ", "+"))
        assert status == 303
        return self


class OpenClass:
    """An open class, on a socket of the file system; `now_s` is its clock for wrong codes."""

    def __init__(self, folder: Path) -> None:
        """Open it."""
        self.room, self.now_s = Room(), 0.0
        self.path = folder / "class"
        site = self.site = Site(
            self.room,
            Doorkeeper(CODE, lambda: self.now_s),
            frozenset({HOST}),
            lambda: YarnHand.RIGHT,
        )
        self._server = uvicorn.Server(
            uvicorn.Config(
                site, uds=str(self.path), http="h11", ws="none", loop="asyncio", lifespan="off",
                log_config=None, access_log=False, server_header=False,
                h11_max_incomplete_event_size=8192, timeout_graceful_shutdown=1,
            )
        )  # fmt: skip
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        while not self._server.started:
            assert self._thread.is_alive()
            time.sleep(0.01)

    def phone(self) -> Phone:
        """Return a phone in the room's network."""
        return Phone(self.path)

    def close(self) -> None:
        """Close it."""
        self.site.close()
        self._server.should_exit = True
        self._thread.join()
