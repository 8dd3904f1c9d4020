"""Plan: from a swatch and a size to stitches, rows, lengths and yarn."""

from __future__ import annotations
