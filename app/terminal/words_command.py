"""`walesong words`: everything that can be said, typed or keyed, in one place, from the data."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from app import language, resources
from app.display.screen_words import read_texts
from app.session.controls import read_controls
from app.session.keys import Doing, read_keys
from app.session.settings_file import read_choices
from engine.commands import COMMANDS
from engine.talk import TALK
from speech.words.phrases import Way

if TYPE_CHECKING:
    import argparse

    from app.session.keys import KeyMap
    from speech.words.phrases import PhraseBook

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "words",
        description=(
            "List every command with the exact words to say, what may be typed for it, and its "
            "keys and pedals. The list is made from the phrase data and the key map."
        ),
    )
    parser.add_argument(
        "--to", metavar="FILE", type=Path, help="write a Markdown page instead of printing"
    )
    parser.add_argument(
        "--replace", action="store_true", help="write it in the place of a file of that name"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print or write the list."""
    book = language.phrase_book()
    controls = read_controls(resources.text("shared/window/controls.toml"))
    keys = read_keys(resources.text("shared/keys.toml"), controls)
    page = words_page(book, keys)
    if options.to is None:
        print(page)
        print(f"\n{_own_words()}")
        if trouble := read_choices()[2]:
            print(trouble)
        return 0
    if options.to.is_file() and not options.replace:
        print(f"walesong words: there is a file {options.to} already; add --replace.")
        return 3
    try:
        options.to.write_text(page + "\n", encoding="utf-8")
    except OSError as error:
        print(f"walesong words: {options.to} cannot be written ({error.strerror}).")
        return 3
    return 0


def _own_words() -> str:
    """Say where a knitter puts phrases of her own, and whether hers are in use."""
    path = resources.data_folder() / language.OWN_PHRASES
    _, trouble = language.own_phrases()
    if trouble:
        return trouble
    if path.exists():
        return f"Your own phrases in '{path}' are among them."
    return f"Phrases of your own go into '{path}'."


def words_page(book: PhraseBook, keys: KeyMap) -> str:
    """Return the list as a Markdown page: one section a command, in the order of the data."""
    lines = [
        "# What can be said, typed and keyed",
        "",
        "Braces stand for a value: a number, a length with its unit. Words in square brackets may",
        "be left out; a bar separates words of which one is chosen. Words marked",
        '"after a question" are listened for only while a question stands.',
    ]
    for name in (*COMMANDS, *TALK):
        lines += ["", f"## {book.help[name]}", "", f"`{name}`", ""]
        spoken = book.written[name]
        if spoken:
            lines.append(f"- say: {_list(spoken)}")
        answers = _forms(book, name, Way.ANSWER)
        if answers:
            lines.append(f"- say, after a question: {_list(answers)}")
        if book.typed[name]:
            lines.append(f"- type also: {_list(book.typed[name])}")
        pressed = _keys(keys, name)
        if pressed:
            lines.append(f"- keys: {', '.join(pressed)}")
        lines.append(f"- touch: {_touch(name)}")
    lines += ["", *_braces(book), "", *_held(keys)]
    return "\n".join(lines)


def _braces(book: PhraseBook) -> list[str]:
    """Return what can stand for each value that is chosen from a list."""
    lines = ["## What can stand in braces", ""]
    for field, values in book.choices.items():
        ways = [" ".join(way) for ways in values.values() for way in ways]
        lines.append(f"- {{{field}}}: {', '.join(ways)}")
    return lines


def _held(keys: KeyMap) -> list[str]:
    """Return what a key does as long as it is held."""
    words = read_texts(resources.text("shared/window/words.toml"))["doings"]
    pressed = ", ".join(
        f"{one.key} ({one.source.value})"
        for one in keys.bindings.values()
        if one.bound is Doing.TALK
    )
    return [f"## {words['talk']}", "", words["talk_help"], "", f"- keys: {pressed}"]


def _list(forms: tuple[str, ...]) -> str:
    return ", ".join(f"“{form}”" for form in forms)


def _forms(book: PhraseBook, name: str, way: Way) -> tuple[str, ...]:
    return tuple(form.text for form in book.all_forms if form.kind.name == name and form.way is way)


def _keys(keys: KeyMap, name: str) -> tuple[str, ...]:
    return tuple(
        f"{binding.key} ({binding.source.value})"
        for binding in keys.bindings.values()
        if getattr(getattr(binding.bound, "kind", None), "name", None) == name
    )


def _touch(name: str) -> str:
    controls = read_controls(resources.text("shared/window/controls.toml"))
    titles = [one.name for one in controls.by_key.values() if one.kind.name == name]
    return ", ".join(dict.fromkeys(titles))
