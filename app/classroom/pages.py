"""The pages on the phones: plain HTML, read and used without any script."""

from __future__ import annotations

from functools import lru_cache
from html import escape
from typing import TYPE_CHECKING, Final

from app.classroom.room import Answer
from app.drawings.hands.album import TOPICS
from app.lessons.leading import Leading, shown
from app.lessons.topics import topics
from app.printing.hands_drawing import draw_pose
from app.printing.svg import svg

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.classroom.room import Seat
    from app.lessons.leading import LessonNow
    from app.lessons.topics import Topic
    from app.session.settings import YarnHand

SCRIPT: Final = """\
"use strict";
(function () {
  var main = document.querySelector("main[data-live]");
  if (!main || !window.EventSource || !window.fetch) { return; }
  function take() {
    fetch("/part" + main.dataset.live, {cache: "no-store", credentials: "same-origin"})
      .then(function (answer) { return answer.ok ? answer.text() : null; })
      .then(function (text) { if (text !== null) { main.innerHTML = text; } })
      .catch(function () {});
  }
  var live = new EventSource("/live");
  live.addEventListener("hello", take);  // also after the network was gone
  live.addEventListener("step", take);
}());
"""
STYLE: Final = """\
:root { color-scheme: light dark; --ink: #1c1712; --page: #fdf8ee; --soft: #4a4238;
  --line: #8a7f70; --strong: #14463a; --strong-ink: #ffffff; --mark: #ffd978; }
@media (prefers-color-scheme: dark) { :root { --ink: #f6efe2; --page: #17120e; --soft: #d5cab9;
  --line: #94897a; --strong: #ffd978; --strong-ink: #17120e; --mark: #5a4208; } }
* { box-sizing: border-box; }
body { margin: 0; padding: 1rem; font: 1.25rem/1.45 system-ui, sans-serif; color: var(--ink);
  background: var(--page); max-width: 44rem; margin-inline: auto; }
h1 { font-size: 1.1rem; margin: 0; color: var(--soft); }
p.say { font-size: 1.6rem; margin: .6rem 0; }
p.count { font-size: 1.4rem; font-weight: bold; }
p.seat, .small { font-size: 1rem; color: var(--soft); }
figure { margin: .5rem 0; background: #fdf8ee; border-radius: .6rem; padding: .3rem; }
figcaption { color: #1c1712; font-size: 1rem; }
svg { width: 100%; height: auto; display: block; }
form { margin: 0; }
.row { display: grid; grid-template-columns: repeat(3, 1fr); gap: .6rem; margin: .8rem 0; }
.row.two { grid-template-columns: repeat(2, 1fr); }
button, a.button { display: block; width: 100%; min-height: 5rem; font: inherit; font-size: 1.1rem;
  border: 2px solid var(--line); border-radius: .7rem; background: transparent; color: var(--ink);
  text-align: center; text-decoration: none; padding: .6rem; }
a.button { display: flex; align-items: center; justify-content: center; min-height: 3.6rem; }
button[aria-pressed="true"] { background: var(--strong); color: var(--strong-ink);
  border-color: var(--strong); font-weight: bold; }
button:focus-visible, a:focus-visible, input:focus-visible { outline: 4px solid var(--ink);
  outline-offset: 2px; }
input { font: inherit; width: 100%; padding: .8rem; border: 2px solid var(--line);
  border-radius: .7rem; background: transparent; color: var(--ink); }
"""
_DRAWN: Final = 128
"""So many drawings are kept: forty phones ask for the same one at once."""
_NAMES: Final = {
    Answer.READY: "Ready",
    Answer.KNITTING: "Still knitting",
    Answer.STUCK: "Stuck",
}


def page(title: str, body: str, *, live: str | None = None) -> str:
    """Return a whole page; `live` is the query of a page that follows the board (None: not)."""
    follows = f' data-live="{escape(live)}"' if live is not None else ""
    script = '<script src="/follow.js" defer></script>' if live is not None else ""
    refresh = '<noscript><meta http-equiv="refresh" content="5"></noscript>' if script else ""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<title>{escape(title)}</title>\n<link rel="stylesheet" href="/style.css">\n'
        f"{refresh}{script}</head>\n<body>\n<main{follows}>\n{body}\n</main>\n</body>\n</html>\n"
    )


def entrance(said: str = "", code: str = "") -> str:
    """Return the page that asks for the four words, after a sentence `said`."""
    told = f'<p role="alert">{escape(said)}</p>' if said else ""
    body = (
        f"<h1>The class</h1>\n{told}"
        '<form method="post" action="/enter">\n'
        '<p><label for="code">The four words on the board</label></p>\n'
        f'<p><input id="code" name="code" value="{escape(code)}" maxlength="60" required '
        'autocomplete="off" autocapitalize="none" spellcheck="false"></p>\n'
        '<button type="submit">Come in</button>\n</form>\n'
        '<p class="small">No account, no name: only your answer is shown, by the number of your '
        "seat.</p>"
    )
    return page("The class", body)


def told(sentence: str) -> str:
    """Return a page with one sentence and the way back."""
    body = f'<h1>The class</h1>\n<p class="say">{escape(sentence)}</p>\n<p><a href="/">Back</a></p>'
    return page("The class", body)


def board(now: LessonNow | None, seat: Seat, hand: YarnHand, at: int | None) -> str:
    """Return the page of a learner: the board's step, or one that she went back to (from 0)."""
    title = now.leading.lesson.title if now is not None else "The class"
    return page(title, board_part(now, seat, hand, at), live="" if at is None else f"?at={at}")


def board_part(now: LessonNow | None, seat: Seat, hand: YarnHand, at: int | None) -> str:
    """Return what changes on a learner's page."""
    if now is None:
        return (
            "<h1>The class</h1>\n"
            '<p class="say">You are in. The lesson begins soon.</p>\n'
            f'<p class="seat">Seat {seat.number}</p>'
        )
    leading = now.leading
    here = min(leading.at, len(leading.lesson.steps))
    if at is not None and at < here:
        leading, back = Leading(leading.lesson, at=at, in_class=True), at
        seen = shown(leading)
    else:
        seen, back = now.shown, here
    steps = len(leading.lesson.steps)
    number = "" if leading.over else f"Step {back + 1} of {steps}"
    behind = f", the class is at {here + 1}" if back < here < steps else ""
    parts = [f"<h1>{escape(leading.lesson.title)}. {number}{behind}</h1>"]
    parts += [f'<p class="say">{escape(one)}</p>' for one in seen.sentences[:2]]
    drawn = seen.choices or ((seen.topic,) if seen.topic is not None else ())
    for topic in drawn:
        picture = seen.picture if not seen.choices else 0
        parts.append(_figure(topic, picture, hand, left=seat.left_handed, behind=seen.behind))
    should = leading.lesson.should_be(min(back, steps - 1))
    if should and not leading.over:
        parts.append(f'<p class="count">You should have {should} stitches.</p>')
    parts.append(_answers(seat))
    parts.append(_ways(back, here, seat))
    return "\n".join(parts)


@lru_cache(maxsize=_DRAWN)
def _figure(topic: Topic, picture: int, hand: YarnHand, *, left: bool, behind: bool) -> str:
    words = topics()[topic]
    pose = TOPICS[topic][picture](hand)
    pose = pose.mirrored() if left else pose
    pose = pose.from_behind() if behind else pose
    name = f"hands-{topic.value.replace('_', '-')}"
    drawing = svg(draw_pose(pose, words.moves[picture]), name)
    return f"<figure>{drawing}<figcaption>{escape(words.title)}</figcaption></figure>"


def _answers(seat: Seat) -> str:
    buttons = "".join(
        f'<button name="answer" value="{one}" aria-pressed="{str(one is seat.answer).lower()}">'
        f"{name}</button>"
        for one, name in _NAMES.items()
    )
    return f'<form method="post" action="/answer"><div class="row">{buttons}</div></form>'


def _ways(back: int, here: int, seat: Seat) -> str:
    before = f'<a class="button" href="/board?at={back - 1}">Back a step</a>' if back else ""
    on = '<a class="button" href="/board">To the class</a>' if back < here else ""
    hands = "right" if seat.left_handed else "left"
    turn = (
        '<form method="post" action="/answer"><p>'
        f'<button name="hands" value="{hands}">Draw it for {hands}-handers</button></p></form>'
    )
    return f'<div class="row two">{before}{on}</div>{turn}<p class="seat">Seat {seat.number}</p>'


FILES: Final[Mapping[str, tuple[str, str]]] = {
    "/style.css": (STYLE, "text/css; charset=utf-8"),
    "/follow.js": (SCRIPT, "text/javascript; charset=utf-8"),
}
"""What the pages bring along, and of which kind it is."""
