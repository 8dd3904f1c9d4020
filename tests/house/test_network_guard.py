"""The guard that keeps every test off the network."""

from __future__ import annotations

import contextlib
import socket
import sys
import urllib.request
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def _connect() -> None:
    with socket.socket() as plug:
        plug.connect(("127.0.0.1", 9))


def _listen() -> None:
    with socket.socket() as plug:
        plug.bind(("127.0.0.1", 0))


def _send() -> None:
    with socket.socket(type=socket.SOCK_DGRAM) as plug:
        plug.sendto(b"?", ("127.0.0.1", 9))


def _look_up() -> None:
    socket.getaddrinfo("localhost", 80)


def _open_page() -> None:
    urllib.request.urlopen("http://localhost:9/")


@pytest.mark.parametrize("reach", [_connect, _listen, _send, _look_up, _open_page])
def test_refuses_the_network(reach: Callable[[], None], network_attempts: list[str]) -> None:
    """Connecting, listening, sending, looking a name up and opening a page are all refused."""
    with pytest.raises(Exception, match="No network in tests"):
        reach()
    assert network_attempts
    network_attempts.clear()


def test_remembers_an_attempt_whose_refusal_was_swallowed(network_attempts: list[str]) -> None:
    """Code that hides the refusal is still found out."""
    with contextlib.suppress(Exception):
        _connect()
    assert network_attempts
    network_attempts.clear()


def test_lets_sockets_of_the_file_system_pass(tmp_path: Path) -> None:
    """The local sound server is reached through such a socket, so it stays possible."""
    if sys.platform == "win32":
        pytest.skip("there are no such sockets")
    with (
        socket.socket(socket.AF_UNIX) as server,
        socket.socket(socket.AF_UNIX) as client,
    ):
        server.bind(str(tmp_path / "plug"))
        server.listen()
        client.connect(str(tmp_path / "plug"))
