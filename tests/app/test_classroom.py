"""Learners on their phones: who is let in, what is shown, what is answered, and nothing besides."""

from __future__ import annotations

import random
import socket
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest

from app import resources
from app.classroom.doors import ClassDoors
from app.classroom.entrance import Doorkeeper, four_words
from app.classroom.room import MOST_SEATS, Answer, Room
from app.classroom.serving import NO_NETWORK, ClassError
from app.classroom.story import write_story
from app.lessons.leading import Leading, LessonNow, heard
from app.lessons.lesson import read_lesson
from speech.words.sampler import read_fillers
from tests.class_phones import CODE, HOST, OpenClass

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

LESSON = read_lesson(resources.text("shared/lessons/1-first-stitches.toml"))
MALFORMED = 10_000
_CHUNKED = b"Transfer-Encoding: chunked\r\n"


def at(step: int, *words: str) -> LessonNow:
    """Return the lesson as a class has it, at a step, after words."""
    leading, said = Leading(LESSON, at=step, in_class=True), ()
    for one in words:
        leading, said = heard(leading, one)  # type: ignore[assignment]
    return LessonNow(leading, said)


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[OpenClass]:
    """Return a class that is open, with nobody in it."""
    found = OpenClass(tmp_path)
    yield found
    found.close()


# --- who is let in --------------------------------------------------------------------------------


def test_four_everyday_words_are_a_code() -> None:
    """Words of four to seven letters; more codes than anybody tries."""
    words = read_fillers(resources.text("shared/phrases/filler.en.txt"))
    short = [word for word in words if 4 <= len(word) <= 7 and word.isalpha()]
    assert len(short) ** 4 > 10**11
    codes = {four_words(words) for _ in range(50)}
    assert len(codes) == 50
    assert all(len(code.split()) == 4 and {*code.split()} <= {*short} for code in codes)


def test_wrong_codes_wait_ever_longer_up_to_a_minute() -> None:
    """Three cost nothing; then the wait doubles, from each address for itself."""
    now = [0.0]
    door = Doorkeeper(CODE, lambda: now[0])
    waits = []
    for _ in range(12):
        assert not door.lets_in("apple apple apple apple", "192.168.1.20")
        waits.append(door.wait_s("192.168.1.20"))
        now[0] += waits[-1]
    assert waits == [0, 0, 0, 2, 4, 8, 16, 32, 60, 60, 60, 60]
    assert door.wait_s("192.168.1.21") == 0
    assert door.lets_in("  Basket-GARDEN yellow, window ", "192.168.1.21")


def test_many_addresses_together_are_slowed_too() -> None:
    """Who has a thousand addresses is let try once a second in all; what is kept has an end."""
    now = [0.0]
    door = Doorkeeper(CODE, lambda: now[0])
    tried = 0
    for number in range(1000):
        address = f"10.0.{number // 250}.{number % 250}"
        if not door.wait_s(address):
            door.lets_in("no", address)
            tried += 1
    assert tried == 41
    now[0] += 1.0
    assert not door.wait_s("10.1.1.1")


def test_only_the_words_let_in(opened: OpenClass) -> None:
    """Nothing is shown before; wrong words are told, and slow down; right ones are a seat."""
    phone = opened.phone()
    opened.room.follow(at(3))
    assert phone.ask("GET", "/board")[0] == 303
    for path in ("/part", "/live"):
        status, _, body = phone.ask("GET", path)
        assert (status, body) == (403, "")
    assert phone.ask("POST", "/answer", "answer=stuck")[0] == 403
    for _ in range(4):
        status, _, body = phone.ask("POST", "/enter", "code=one+two+three+four")
        assert status == 403
        assert "not the four words" in body
    status, head, body = phone.ask("POST", "/enter", f"code={CODE.replace(' ', '+')}")
    assert status == 429
    assert "retry-after: 3" in head
    assert "Wait 3 seconds" in body
    opened.now_s += 3
    phone.come_in()
    assert "first stitch, away from you" in phone.ask("GET", "/board")[2]
    assert phone.ask("GET", "/")[0] == 303


def test_a_seat_is_a_secret_that_stays_here(opened: OpenClass) -> None:
    """No script reads the cookie, no other site has it sent; a made-up one is none."""
    phone = opened.phone()
    _, head, _ = phone.ask("POST", "/enter", f"code={CODE.replace(' ', '+')}")
    line = next(one for one in head.splitlines() if one.startswith("set-cookie"))
    assert "httponly" in line
    assert "samesite=strict" in line
    assert len(phone.cookie) == 32
    stranger = opened.phone()
    stranger.cookie = "A" * 32
    assert stranger.ask("GET", "/board")[0] == 303


def test_a_full_class_says_so(opened: OpenClass) -> None:
    """So many seats and no more."""
    for _ in range(MOST_SEATS):
        assert opened.room.join() is not None
    status, _, body = opened.phone().ask("POST", "/enter", f"code={CODE.replace(' ', '+')}")
    assert status == 503
    assert "The class is full." in body


# --- what is shown and answered -------------------------------------------------------------------


class _Read(HTMLParser):
    """Reads a page: its elements, and what in it would be fetched from anywhere."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        given = dict(attrs)
        assert "style" not in given
        assert not [name for name in given if name.startswith("on")]
        self.links += [str(given[one]) for one in ("href", "src", "action") if one in given]


def test_a_learner_sees_the_boards_step_and_drawing(opened: OpenClass) -> None:
    """The sentence, the hands, the count there should be, three answers; nothing from outside."""
    phone = opened.phone().come_in()
    assert "The lesson begins soon" in phone.ask("GET", "/board")[2]
    opened.room.follow(at(4))
    body = phone.ask("GET", "/board")[2]
    page = _Read(body)
    assert "Round: bring the yarn under the tip" in body
    assert "You should have 16 stitches." in body
    assert page.tags.count("svg") == 1
    assert page.tags.count("button") == 4
    assert all(link.startswith("/") and not link.startswith("//") for link in page.links)
    opened.room.follow(at(8, "17"))
    assert _Read(phone.ask("GET", "/board")[2]).tags.count("svg") == 2


def test_each_goes_back_on_her_own(opened: OpenClass) -> None:
    """Back changes no other phone, and nothing ahead of the class can be read."""
    one, other = opened.phone().come_in(), opened.phone().come_in()
    opened.room.follow(at(4))
    body = one.ask("GET", "/board?at=3")[2]
    assert "In: push the tip" in body
    assert "the class is at 5" in body
    assert "Round: bring" in other.ask("GET", "/board")[2]
    for ahead in ("/board?at=9", "/board?at=4", "/board?at=99999", "/board?at=-1", "/board?at=x"):
        assert "Round: bring" in one.ask("GET", ahead)[2], ahead


def test_an_answer_is_seen_in_the_room_until_the_next_step(opened: OpenClass) -> None:
    """Ready and stuck by the number of the seat; with the next step all are knitting again."""
    opened.room.follow(at(4))
    one, other = opened.phone().come_in(), opened.phone().come_in()
    assert one.ask("POST", "/answer", "answer=stuck", origin=f"http://{HOST}")[0] == 303
    assert other.ask("POST", "/answer", "answer=ready")[0] == 303
    assert [seat.answer for seat in opened.room.seats()] == [Answer.STUCK, Answer.READY]
    assert 'value="stuck" aria-pressed="true"' in one.ask("GET", "/board")[2]
    assert one.ask("POST", "/answer", "answer=bored")[0] == 400
    opened.room.follow(at(5))
    assert {seat.answer for seat in opened.room.seats()} == {Answer.KNITTING}
    assert [(step.at, step.stuck) for step in opened.room.story().steps] == [(4, 1), (5, 0)]


def test_left_handers_have_it_mirrored(opened: OpenClass) -> None:
    """Her own page alone, and back again."""
    opened.room.follow(at(4))
    one, other = opened.phone().come_in(), opened.phone().come_in()
    right = other.ask("GET", "/part")[2]
    one.ask("POST", "/answer", "hands=left")
    left = one.ask("GET", "/part")[2]
    assert "Draw it for right-handers" in left
    points = [body.split('points="')[1].partition('"')[0] for body in (right, left)]
    assert points[0] != points[1]
    assert other.ask("GET", "/part")[2] == right
    one.ask("POST", "/answer", "hands=right")
    assert "Draw it for left-handers" in one.ask("GET", "/part")[2]


def test_a_step_is_told_live(opened: OpenClass) -> None:
    """Every change of the board is an event; two streams a seat and no more."""
    phone = opened.phone().come_in()
    request = f"GET /live HTTP/1.1\r\nHost: {HOST}\r\nCookie: seat={phone.cookie}\r\n\r\n".encode()

    def listen() -> socket.socket:
        one = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        one.settimeout(20)
        one.connect(str(opened.path))
        one.sendall(request)
        return one

    def until(one: socket.socket, wanted: bytes) -> bytes:
        found = b""
        while wanted not in found:
            found += one.recv(4096)
        return found

    with listen() as first, listen() as second:
        assert b"text/event-stream" in until(first, b"event: hello")
        until(second, b"event: hello")
        with listen() as third:
            assert b"429" in until(third, b"\r\n\r\n")
        opened.room.follow(at(1))
        until(first, b"event: step\ndata: 1\n")
        opened.room.follow(at(2))
        until(first, b"event: step\ndata: 2\n")
        until(second, b"event: step")
        opened.site.close()
        until(first, b"0\r\n\r\n")


def test_what_a_teacher_writes_is_only_text(opened: OpenClass) -> None:
    """Signs of HTML in her lesson are shown, not obeyed."""
    text = (
        'title = "<script>x"\nminutes = 5\nwants = "Yarn"\n[[steps]]\nsay = "<img src=x> & knit"\n'
    )
    opened.room.follow(LessonNow(Leading(read_lesson(text))))
    body = opened.phone().come_in().ask("GET", "/board")[2]
    assert "&lt;img src=x&gt; &amp; knit" in body
    assert "<img" not in body
    assert "<script>x" not in body


# --- and nothing besides --------------------------------------------------------------------------


def test_every_answer_has_strict_headers(opened: OpenClass) -> None:
    """Pages, files, refusals, and what is not there."""
    phone = opened.phone()
    asked = [phone.ask("GET", path) for path in ("/", "/style.css", "/follow.js", "/none", "/live")]
    asked += [phone.ask("POST", "/enter", "code=x"), phone.ask("GET", "/", host="evil.example")]
    assert "no-store" in asked[0][1]
    for _, head, _ in asked:
        assert "content-security-policy: default-src 'none'" in head
        assert "x-content-type-options: nosniff" in head
        assert "cache-control: no-store" in head or "cache-control: private" in head
        assert "access-control" not in head
        assert "server:" not in head


@pytest.mark.parametrize(
    "host", ["evil.example", "localhost:8808", "192.168.1.7", "192.168.1.7:80", "", f"{HOST}.x"]
)
def test_another_name_of_the_host_is_refused(opened: OpenClass, host: str) -> None:
    """A name that was turned to this address by its owner reads and writes nothing."""
    phone = opened.phone().come_in()
    status, _, body = phone.ask("GET", "/board", host=host)
    assert status in {400, 421}
    assert "stitches" not in body
    assert phone.ask("POST", "/answer", "answer=stuck", host=host)[0] in {400, 421}
    assert opened.room.seats()[0].answer is Answer.KNITTING


def test_what_was_sent_from_elsewhere_changes_nothing(opened: OpenClass) -> None:
    """Another origin, another kind of body, too much of it, another method."""
    phone = opened.phone().come_in()
    for status, how in (
        (403, {"origin": "http://evil.example"}),
        (403, {"origin": "null"}),
        (415, {"content_type": "text/plain"}),
        (415, {"content_type": "multipart/form-data; boundary=x"}),
    ):
        assert phone.ask("POST", "/answer", "answer=stuck", **how)[0] == status, how
    assert phone.ask("POST", "/answer", "answer=stuck&x=" + "y" * 600)[0] == 413
    assert phone.ask("GET", "/board?at=" + "1" * 300)[0] == 414
    for method in ("PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT"):
        assert phone.ask(method, "/answer")[0] >= 400
    assert phone.ask("GET", "/answer")[0] == 405
    assert opened.room.seats()[0].answer is Answer.KNITTING


@pytest.mark.parametrize(
    "path",
    ["/../README.md", "/%2e%2e/etc/passwd", "//etc/passwd", "/style.css/..", "/static/", "/docs",
     "/openapi.json", "/board/", "/.git/config", "/style.css%00.html"],
)  # fmt: skip
def test_no_file_can_be_read(opened: OpenClass, path: str) -> None:
    """There are five pages and two files, whatever is asked for."""
    status, _, body = opened.phone().come_in().ask("GET", path)
    assert status in {303, 307, 404}
    assert "root:" not in body
    assert "Walesong" not in body


def test_ten_thousand_malformed_requests_change_nothing(opened: OpenClass) -> None:
    """Cut, doubled, made-up bytes: nobody comes in, nothing is told, and it still answers."""
    opened.room.follow(at(4))
    inside = opened.phone().come_in()
    dice = random.Random(18)
    stranger = opened.phone()
    good = [
        f"GET /board HTTP/1.1\r\nHost: {HOST}\r\n\r\n".encode(),
        f"POST /enter HTTP/1.1\r\nHost: {HOST}\r\nContent-Length: 11\r\n"
        "Content-Type: application/x-www-form-urlencoded\r\n\r\ncode=a+b+c+d".encode(),
        f"POST /answer HTTP/1.1\r\nHost: {HOST}\r\nContent-Length: 12\r\nCookie: seat=x\r\n"
        "Content-Type: application/x-www-form-urlencoded\r\n\r\nanswer=stuck".encode(),
        f"GET /live HTTP/1.1\r\nHost: {HOST}\r\nCookie: seat=\r\n\r\n".encode(),
    ]
    for _ in range(MALFORMED):
        found = stranger.raw(_spoilt(dice, good))
        assert b"first stitch" not in found
        assert b"Round: bring" not in found
        assert b"Traceback" not in found
        assert not found.startswith(b"HTTP/1.1 500")
    assert len(opened.room.seats()) == 1
    assert opened.room.seats()[0].answer is Answer.KNITTING
    assert "Round: bring" in inside.ask("GET", "/board")[2]


def _spoilt(dice: random.Random, good: list[bytes]) -> bytes:
    """Return a request with something wrong in it."""
    one = bytearray(dice.choice(good))
    for _ in range(dice.randint(1, 4)):
        match dice.randrange(6):
            case 0:
                del one[dice.randrange(len(one) + 1) :]
            case 1:
                at_byte = dice.randrange(len(one) + 1)
                one[at_byte:at_byte] = dice.randbytes(dice.randint(1, 40))
            case 2 if one:
                one[dice.randrange(len(one))] = dice.randrange(256)
            case 3:
                one += one[: dice.randrange(len(one) + 1)]
            case 4:
                one = bytearray(one.replace(b"Content-Length: 1", b"Content-Length: -1", 1))
            case _:
                at_byte = dice.randrange(len(one) + 1)
                one[at_byte:at_byte] = dice.choice(
                    [
                        b"\r\n",
                        b"\x00",
                        b"Transfer-Encoding: chunked\r\n",
                        b"X: " + b"y" * 9000,
                        b"%",
                    ]
                )
    return bytes(one)


def test_the_room_forgets_when_it_is_closed() -> None:
    """The next class has nobody in it and nothing to tell of the last one."""
    room = Room()
    token = room.join()
    assert token is not None
    room.follow(at(3))
    room.tell(token, Answer.STUCK)
    room.empty()
    assert room.seats() == ()
    assert room.story().steps == ()
    assert not room.tell(token, Answer.STUCK)


# --- the story ------------------------------------------------------------------------------------


def test_the_story_tells_steps_minutes_and_stuck_without_names(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Who says stuck twice counts once; the worst step is named; page and PDF are written."""
    monkeypatch.setattr(resources, "data_folder", lambda: tmp_path)
    now = [0.0]
    room = Room(lambda: now[0])
    one, other = room.join(), room.join()
    assert one is not None
    assert other is not None
    room.follow(at(3))
    room.tell(other, Answer.STUCK)
    now[0] += 240
    room.follow(at(4))
    for token in (one, other, one):
        room.tell(token, Answer.STUCK)
        room.tell(token, Answer.READY)
    now[0] += 120
    room.follow(at(3))  # back once more: its minutes are added
    now[0] += 60
    story = room.story()
    assert [(step.at, step.stuck, step.seconds) for step in story.steps] == [
        (3, 1, 300),
        (4, 2, 120),
    ]
    path = write_story(story)
    assert path is not None
    page = path.read_text(encoding="utf-8")
    assert "2 of 19 steps in 7 minutes; 2 phones followed." in page
    assert page.index("Step 5, 2 of 2 stuck") < page.index("Step 4, 1 of 2 stuck")
    assert one not in page
    assert path.with_suffix(".pdf").read_bytes().startswith(b"%PDF")
    again = write_story(story)
    assert again != path


def test_it_is_opened_closed_and_told_by_the_talk(tmp_path: Path) -> None:
    """What cannot be opened is a sentence; a story of nothing is none; nothing is kept unasked."""

    class Shut:
        """A class that cannot be opened."""

        def __init__(self) -> None:
            self.room = Room()
            self.closed = 0

        def open(self) -> None:
            raise ClassError(NO_NETWORK)

        def close(self) -> None:
            self.closed += 1

    shut = Shut()
    seen: list[Path] = []
    doors = ClassDoors(shut, seen.append)  # type: ignore[arg-type]
    assert doors.open() == NO_NETWORK
    assert doors.story() == "Nothing was shown to a class yet."
    assert doors.close() == "The class is closed."
    assert shut.closed == 1
    assert seen == []
    assert not [*tmp_path.iterdir()]
