"""
What was put in and not yet sent: lines begun, a piece half planned; kept through a kill.

It is a small JSON text. What cannot be read of it is forgotten: nothing was promised about it but
that typing it again is spared where that is possible.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from app import resources
from app.reading import text_of
from engine.quantities import Length, Mass, parse_length, parse_mass

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.pieces.library import Shelved
    from app.session.controls import Answer
    from app.session.draft import Draft

_FILE = "unfinished.json"


@dataclass(frozen=True, slots=True)
class Unfinished:
    """Lines by what they were for, and what was chosen of a piece to begin."""

    typed: Mapping[str, str] = field(default_factory=dict)
    begun: Mapping[str, Any] = field(default_factory=dict)


def write_unfinished(kept: Unfinished) -> str:
    """Write it as `read_unfinished` reads it; "" if there is nothing."""
    typed = {name: words for name, words in kept.typed.items() if words}
    if not typed and not kept.begun:
        return ""
    return json.dumps({"typed": typed, "begun": dict(kept.begun)}, ensure_ascii=False)


def read_unfinished(text: str) -> Unfinished:
    """Read it; a damaged text is nothing."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return Unfinished()
    if not isinstance(data, dict):
        return Unfinished()
    typed, begun = data.get("typed"), data.get("begun")
    return Unfinished(
        {str(name): str(words) for name, words in typed.items()} if isinstance(typed, dict) else {},
        begun if isinstance(begun, dict) else {},
    )


def begun_of(draft: Draft) -> Mapping[str, Any]:
    """Return what was chosen of a piece as plain values; nothing if nothing was."""
    if draft.pattern is None and not draft.values:
        return {}
    return {
        "pattern": draft.pattern.name if draft.pattern is not None else None,
        "size": draft.size,
        "values": {
            key: str(value) if isinstance(value, Length | Mass) else value
            for key, value in draft.values
        },
    }


def draft_of(begun: Mapping[str, Any], library: Sequence[Shelved]) -> Draft | None:
    """Return the draft that was kept; None if there is none, or its pattern is not at hand."""
    from app.session.draft import Draft  # noqa: PLC0415 (brings the planner)

    if not begun:
        return None
    name = begun.get("pattern")
    pattern = next((one for one in library if one.name == name), None)
    if name is not None and pattern is None:
        return None
    sizes = pattern.document.sizes if pattern is not None and pattern.document is not None else ()
    size = begun.get("size")
    if size not in sizes:
        size = sizes[0] if sizes else None
    values = begun.get("values")
    kept = values.items() if isinstance(values, dict) else ()
    return Draft(pattern, size, tuple((str(key), _value(str(key), value)) for key, value in kept))


def _value(key: str, value: object) -> Answer:
    if isinstance(value, int):
        return value
    text = str(value)
    if key in {"width", "length"}:
        return parse_length(text) or parse_mass(text) or text
    return text


# --- where it is kept ----------------------------------------------------------------------------


def kept_text() -> str:
    """Return the text that is kept on this device; "" if there is none, or it cannot be read."""
    try:
        return text_of(resources.data_folder() / _FILE)
    except (OSError, UnicodeDecodeError):
        return ""


def keep_text(text: str) -> None:
    """Keep a text in place of the one before; OSError if that is not possible."""
    path = resources.data_folder() / _FILE
    if not text:
        path.unlink(missing_ok=True)
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_suffix(".new")
    beside.write_text(text, encoding="utf-8")
    beside.replace(path)
