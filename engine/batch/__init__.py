"""Pieces that are to be alike: compared with a reference, charted, and made to order."""
