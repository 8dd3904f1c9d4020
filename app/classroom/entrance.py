"""The four words that let a phone in, and how wrong ones slow whoever tries them down."""

from __future__ import annotations

import hmac
import re
import secrets
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

WORDS: Final = 4
_LETTERS: Final = range(4, 8)
_FREE: Final = 3
"""So many wrong codes from one address cost no time: everybody mistypes."""
_LONGEST_S: Final = 60.0
_ADDRESSES: Final = 500
"""So many addresses are remembered; then the oldest is forgotten."""
_ALL_FREE: Final = 40
"""So many wrong codes from all addresses together cost nothing: as many as a class can mistype."""


def four_words(known: Sequence[str]) -> str:
    """
    Return four everyday words by chance.

    Of a thousand words that is one of 10^12 codes; at the pace that `Doorkeeper` leaves, a code a
    minute and address, nobody comes near one in an afternoon.
    """
    short = [word for word in known if len(word) in _LETTERS and word.isalpha()]
    return " ".join(secrets.choice(short) for _ in range(WORDS))


def plain(code: str) -> str:
    """Return a code as it is compared: small letters, one space between the words."""
    return " ".join(re.findall(r"[a-z]+", code.casefold()))


class Doorkeeper:
    """Compares codes; `now_s` is a clock in seconds. For the server's one thread."""

    def __init__(self, code: str, now_s: Callable[[], float]) -> None:
        """Let those in who know the code."""
        self._code, self._now_s = plain(code), now_s
        self._wrong: dict[str, tuple[int, float]] = {}
        self._all = 0
        self._all_until = 0.0

    def wait_s(self, address: str) -> float:
        """Return for how many seconds no code from an address is looked at."""
        until = max(self._wrong.get(address, (0, 0.0))[1], self._all_until)
        return max(until - self._now_s(), 0.0)

    def lets_in(self, code: str, address: str) -> bool:
        """Whether the code is right; a wrong one makes the next from there wait, ever longer."""
        if hmac.compare_digest(plain(code).encode(), self._code.encode()):
            self._wrong.pop(address, None)
            return True
        count = self._wrong.pop(address, (0, 0.0))[0] + 1
        wait = min(2.0 ** (count - _FREE), _LONGEST_S) if count > _FREE else 0.0
        self._wrong[address] = (count, self._now_s() + wait)
        while len(self._wrong) > _ADDRESSES:
            del self._wrong[next(iter(self._wrong))]
        self._all += 1
        if self._all > _ALL_FREE:
            self._all_until = self._now_s() + 1.0
        return False
