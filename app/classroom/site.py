"""
What the class's server answers, and nothing besides.

Five pages and two files, known by their exact addresses; every other one is none. A request has to
name the address that the teacher was shown (against DNS rebinding), is short, and comes from this
site itself if it changes anything. The cookie is a seat's secret and can only be sent back here.
"""

from __future__ import annotations

import asyncio
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import parse_qs

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from app.classroom import pages
from app.classroom.room import Answer

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

    from app.classroom.entrance import Doorkeeper
    from app.classroom.room import Room, Seat
    from app.session.settings import YarnHand

COOKIE: Final = "seat"
_LONGEST_BODY: Final = 512
_LONGEST_PATH: Final = 200
_STREAMS_A_SEAT: Final = 2
_BEAT_S: Final = 15.0
"""So often a word is sent on a quiet stream, so that nothing in between closes it."""
_HEADERS: Final = {
    "content-security-policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}
Asgi = Any


class Site:
    """The pages of one class, as an ASGI application for one event loop."""

    def __init__(
        self,
        room: Room,
        doorkeeper: Doorkeeper,
        hosts: frozenset[str],
        hand: Callable[[], YarnHand],
    ) -> None:
        """Answer requests to one of `hosts` ("192.168.1.7:8000"); `hand` leads the yarn."""
        self._room, self._doorkeeper, self._hosts, self._hand = room, doorkeeper, hosts, hand
        self._streams: dict[str, int] = {}
        self._moved: asyncio.Event | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._closing = False
        self._app = Starlette(
            routes=[
                Route("/", self._entrance, methods=["GET"]),
                Route("/enter", self._enter, methods=["POST"]),
                Route("/board", self._board, methods=["GET"]),
                Route("/part", self._part, methods=["GET"]),
                Route("/answer", self._answer, methods=["POST"]),
                Route("/live", self._live, methods=["GET"]),
                *(Route(path, self._file, methods=["GET"]) for path in pages.FILES),
            ]
        )
        room.changed = self._tell

    async def __call__(self, scope: Asgi, receive: Asgi, send: Asgi) -> None:
        """Answer one request, after looking at what it claims; anything but HTTP is refused."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        self._loop = asyncio.get_running_loop()

        async def sending(message: Asgi) -> None:
            if message["type"] == "http.response.start":
                has = {name for name, _ in message["headers"]}
                named = [
                    (name.encode(), value.encode())
                    for name, value in _HEADERS.items()
                    if name.encode() not in has
                ]
                message = {**message, "headers": [*message["headers"], *named]}
            await send(message)

        refusal = self._refused(Request(scope))
        if refusal is not None:
            await refusal(scope, receive, sending)
            return
        await self._app(scope, receive, sending)

    def _refused(self, request: Request) -> Response | None:
        hosts = request.headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            return PlainTextResponse("This is not the address of the class.", 421)
        if len(request.url.path) + len(request.url.query) > _LONGEST_PATH:
            return PlainTextResponse("Too long.", 414)
        if request.method == "POST":
            origin = request.headers.get("origin")
            if origin is not None and origin.lower() != f"http://{hosts[0].lower()}":
                return PlainTextResponse("This was sent from elsewhere.", 403)
            kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
            if kind != "application/x-www-form-urlencoded":
                return PlainTextResponse("Only the forms of these pages are taken.", 415)
        return None

    # --- pages --------------------------------------------------------------------------------

    def _seated(self, request: Request) -> tuple[str, Seat] | None:
        token = request.cookies.get(COOKIE, "")
        seat = self._room.seat(token) if token else None
        return (token, seat) if seat is not None else None

    async def _entrance(self, request: Request) -> Response:
        if self._seated(request):
            return _to("/board")
        given = request.query_params.get("code", "")
        return HTMLResponse(pages.entrance(code=pages_code(given)))

    async def _enter(self, request: Request) -> Response:
        form = await _form(request)
        if form is None:
            return PlainTextResponse("Too much.", 413)
        address = request.client.host if request.client else ""
        wait = self._doorkeeper.wait_s(address)
        if wait:
            again = str(int(wait) + 1)
            said = f"Wait {again} seconds, then try once more."
            return HTMLResponse(pages.entrance(said), 429, headers={"retry-after": again})
        if not self._doorkeeper.lets_in(form.get("code", ""), address):
            return HTMLResponse(pages.entrance("These are not the four words on the board."), 403)
        token = self._room.join()
        if token is None:
            return HTMLResponse(pages.told("The class is full."), 503)
        answer = _to("/board")
        answer.set_cookie(COOKIE, token, httponly=True, samesite="strict", path="/")
        return answer

    async def _board(self, request: Request) -> Response:
        seated = self._seated(request)
        if seated is None:
            return _to("/")
        at = _step(request)
        return HTMLResponse(pages.board(self._room.now, seated[1], self._hand(), at))

    async def _part(self, request: Request) -> Response:
        seated = self._seated(request)
        if seated is None:
            return PlainTextResponse("", 403)
        at = _step(request)
        return HTMLResponse(pages.board_part(self._room.now, seated[1], self._hand(), at))

    async def _answer(self, request: Request) -> Response:
        seated = self._seated(request)
        if seated is None:
            return PlainTextResponse("You are not in the class.", 403)
        form = await _form(request)
        if form is None:
            return PlainTextResponse("Too much.", 413)
        if form.get("answer") in set(Answer):
            self._room.tell(seated[0], Answer(form["answer"]))
        elif form.get("hands") in {"left", "right"}:
            self._room.turn_hands(seated[0], left_handed=form["hands"] == "left")
        else:
            return PlainTextResponse("Ready, still knitting or stuck is an answer.", 400)
        return _to("/board")

    async def _file(self, request: Request) -> Response:
        content, kind = pages.FILES[request.url.path]
        kept = "private, max-age=3600"  # the look of the pages, of which nothing is told
        return Response(content, headers={"content-type": kind, "cache-control": kept})

    # --- live ---------------------------------------------------------------------------------

    async def _live(self, request: Request) -> Response:
        seated = self._seated(request)
        if seated is None:
            return PlainTextResponse("", 403)
        token = seated[0]
        if self._streams.get(token, 0) >= _STREAMS_A_SEAT:
            return PlainTextResponse("", 429)
        return StreamingResponse(self._steps(token), headers={"content-type": "text/event-stream"})

    async def _steps(self, token: str) -> AsyncIterator[str]:
        """Tell of every change of the board, and now and then that nothing has changed."""
        self._streams[token] = self._streams.get(token, 0) + 1
        told = self._room.turn
        try:
            yield f"event: hello\ndata: {told}\n\n"
            while not self._closing:
                if self._room.turn != told:
                    told = self._room.turn
                    yield f"event: step\ndata: {told}\n\n"
                    continue
                if self._moved is None:
                    self._moved = asyncio.Event()
                moved = self._moved
                try:
                    await asyncio.wait_for(moved.wait(), _BEAT_S)
                except TimeoutError:
                    yield ": quiet\n\n"
        finally:
            self._streams[token] -= 1
            if not self._streams[token]:
                del self._streams[token]

    def _tell(self, _turn: int) -> None:
        """Wake every stream; called on any thread."""
        if self._loop is not None:
            with suppress(RuntimeError):  # the class was closed meanwhile
                self._loop.call_soon_threadsafe(self._wake)

    def _wake(self) -> None:
        moved, self._moved = self._moved, None
        if moved is not None:
            moved.set()

    def close(self) -> None:
        """End every stream; called on any thread."""
        self._closing = True
        self._tell(0)


def pages_code(given: str) -> str:
    """Return a code from an address as it may stand in the form: words of letters only."""
    words = [word for word in given.replace("-", " ").split() if word.isascii() and word.isalpha()]
    return " ".join(words)[:60]


def _to(path: str) -> Response:
    return Response(status_code=303, headers={"location": path})


def _step(request: Request) -> int | None:
    given = request.query_params.get("at", "")
    return int(given) if given.isascii() and given.isdigit() and len(given) <= 4 else None  # noqa: PLR2004


async def _form(request: Request) -> dict[str, str] | None:
    """Return the fields of a form; None: it is longer than any of ours."""
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > _LONGEST_BODY:
            return None
    try:
        fields = parse_qs(body.decode("ascii"), max_num_fields=4)
    except (UnicodeDecodeError, ValueError):
        return {}
    return {name: values[0] for name, values in fields.items()}
