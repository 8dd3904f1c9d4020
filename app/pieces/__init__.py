"""Pieces, their patterns and plans: reading, casting on, belonging together; no threads."""
