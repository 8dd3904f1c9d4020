"""Everything a knitter sees and touches, and the place where the parts are put together."""

from __future__ import annotations
