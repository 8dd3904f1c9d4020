"""Knitting itself: what a row, a piece and a command are, and what follows from them.

Pure: no screen, no sound, no threads, no files. Only ``engine.journal`` touches a disk.
"""

from __future__ import annotations
