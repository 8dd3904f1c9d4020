"""The error that ends the working of a row which does not fit."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from engine.pattern.needle import Misfit


class MisfitError(Exception):
    """Raised while a row is worked, where it cannot go on; `misfit` says why."""

    def __init__(self, misfit: Misfit) -> None:
        """Keep the reason."""
        super().__init__(misfit.message)
        self.misfit = misfit
