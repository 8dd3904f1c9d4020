"""Setting the house up and keeping it in order; never shipped.

What ``prepare.py`` takes along uses the standard library only: it runs before all else is here.
"""

from __future__ import annotations
