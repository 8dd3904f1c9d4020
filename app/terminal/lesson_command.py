"""`walesong lesson`: be led through a lesson in the terminal, one thing at a time."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app import resources
from app.lessons.leading import Leading, heard, shown
from app.lessons.lesson import Lesson, LessonError, read_lesson
from app.lessons.topics import topics
from app.reading import text_of

if TYPE_CHECKING:
    import argparse

    from app.lessons.leading import Shown

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

_FOLDER = "shared/lessons"


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "lesson",
        description=(
            "Be led through a lesson, one thing at a time. Press Enter when a step is done; type "
            "your count where one is asked, or: back, again, from behind, it looks wrong. Without "
            "a LESSON the lessons are listed. The drawings are those of `walesong hands`."
        ),
    )
    parser.add_argument(
        "lesson", metavar="LESSON", nargs="?", help="its number, or a file of your own"
    )
    parser.add_argument("--topics", action="store_true", help="list all that is drawn")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Lead through a lesson: 0 done or left, 3 a file that cannot be used."""
    if options.topics:
        for topic, words in topics().items():
            print(f"{topic:18} {words.title} ({len(words.moves)})")
        return 0
    files = sorted(resources.path(_FOLDER).glob("*.toml"))
    if options.lesson is None:
        for number, file in enumerate(files, 1):
            lesson = read_lesson(text_of(file))
            print(f"{number}  {lesson.title} ({lesson.minutes} minutes)")
        return 0
    numbered = {str(number): file for number, file in enumerate(files, 1)}
    file = numbered.get(options.lesson, Path(options.lesson))
    try:
        lesson = read_lesson(text_of(file))
    except (LessonError, UnicodeDecodeError) as error:
        print(f"walesong lesson: {file.name}: {error}", file=sys.stderr)
        return 3
    _lead(lesson)
    return 0


def _lead(lesson: Lesson) -> None:
    print(f"{lesson.title}: {lesson.minutes} minutes. {lesson.wants}")
    leading = Leading(lesson)
    said: tuple[str, ...] = ()
    while True:
        _print(leading, shown(leading, said))
        if leading.over:
            break
        line = sys.stdin.readline()
        if not line:
            break
        leading, said = heard(leading, line)
    if leading.stuck_at:
        steps = ", ".join(str(at + 1) for at in dict.fromkeys(leading.stuck_at))
        print(f"Help was asked for at step {steps}.")


def _print(leading: Leading, seen: Shown) -> None:
    number = "" if leading.over else f"{leading.at + 1}/{len(leading.lesson.steps)}"
    for sentence in seen.sentences:
        print(f"{number:>6}  {sentence}")
    for at, choice in enumerate(seen.choices, 1):
        words = topics()[choice]
        print(f"{at:>8}  {words.title}: {words.moves[0]}")
    if seen.topic is not None:
        words = topics()[seen.topic]
        sides = ", from behind" if seen.behind else ""
        print(f"{'':>8}[{words.title}, picture {seen.picture + 1} of {len(words.moves)}{sides}]")
