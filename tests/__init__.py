"""All proofs, by room."""

from __future__ import annotations
