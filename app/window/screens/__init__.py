"""The screens: each a module with its kv file beside it, drawn from ready values."""

from __future__ import annotations
