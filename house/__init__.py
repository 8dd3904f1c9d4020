"""Setting the house up and keeping it in order; standard library only, never shipped."""

from __future__ import annotations
