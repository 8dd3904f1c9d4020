"""Loads the kv file that lies beside a screen's module, once."""

from __future__ import annotations

from importlib.resources import files

from kivy.lang import Builder

_loaded: set[str] = set()


def load(name: str) -> None:
    """Load `name`.kv beside the screens; the second time does nothing."""
    if name not in _loaded:
        _loaded.add(name)
        text = files("app.window.screens").joinpath(f"{name}.kv").read_text(encoding="utf-8")
        Builder.load_string(text, filename=f"{name}.kv")
