"""The one way in which setting up ends early."""

from __future__ import annotations


class Trouble(Exception):  # noqa: N818 - it is the user's trouble, not the program's error
    """Setting up cannot go on; the message is the one sentence that the user reads."""
