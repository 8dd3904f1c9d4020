"""From sound to commands, and from replies to a voice."""

from __future__ import annotations
