"""What the contract tests stand on: real devices where this machine can have them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.virtual_loudspeaker import MISSING, VirtualLoudspeaker, virtual_loudspeaker

if TYPE_CHECKING:
    from collections.abc import Iterator


@pytest.fixture(scope="module")
def loudspeaker() -> Iterator[VirtualLoudspeaker]:
    """Return a running virtual loudspeaker, which everything that makes sound finds by itself."""
    if MISSING:
        pytest.skip(f"a virtual loudspeaker needs {', '.join(MISSING)}")
    with virtual_loudspeaker() as running:
        yield running
