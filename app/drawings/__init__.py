"""Drawings: stitches, needle, tape measure and signs, as pictures and on the canvas."""

from __future__ import annotations
