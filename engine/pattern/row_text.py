"""Writes the items of a row in the usual abbreviations, so that reading them gives them again."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from engine.pattern.notation import (
    Along,
    Amount,
    BindOff,
    CastOn,
    Group,
    Hold,
    HoldWhich,
    InStitch,
    Item,
    JoinRound,
    Marker,
    PickUp,
    Remark,
    StopAt,
    StopWork,
    TakeUp,
    TurnWork,
    Work,
)

if TYPE_CHECKING:
    from collections.abc import Iterable


def items_text(items: Iterable[Item]) -> str:
    """Write the items of a row: "k2, *yo, k2tog; rep from * to last 2 sts, k2"."""
    return ", ".join(_item_text(item, depth=0) for item in items)


def amount_text(amount: Amount) -> str:
    """Write an amount with the numbers of all sizes: "24 (28, -, 32)"."""
    words = ["-" if number is None else str(number) for number in amount]
    return words[0] if len(words) == 1 else f"{words[0]} ({', '.join(words[1:])})"


def _item_text(item: Item, depth: int) -> str:  # noqa: C901, PLR0911, PLR0912 (a case an item)
    match item:
        case Work():
            return _work_text(item)
        case Group():
            return _group_text(item, depth)
        case InStitch():
            into = "next st" if item.takes == 1 else "double yo"
            return f"({_inner(item.body, depth)}) in {into}"
        case Along():
            return _along_text(item, depth)
        case BindOff():
            how = "".join(f" {word}" for word in item.how)
            how += f" {item.manner}" if item.manner else ""
            if item.amount is not None:
                return f"bo {amount_text(item.amount)} sts{how}"
            return (
                f"bo{how} {stop_text(item.stop)}" if item.stop is not None else f"bo all sts{how}"
            )
        case CastOn():
            return f"co {amount_text(item.amount)} sts{f' {item.how}' if item.how else ''}"
        case PickUp():
            along = f" {item.along}" if item.along else ""
            return f"pick up and k {amount_text(item.amount)} sts{along}"
        case Marker():
            return f"{item.move}{f' {item.name}' if item.name else ''}"
        case TurnWork():
            return str(item.kind)
        case Hold():
            return _hold_text(item)
        case TakeUp():
            if item.beside:
                return f"take in {amount_text(item.amount) + ' ' if item.amount else ''}held sts"
            held = f"for {item.name}" if item.name else ""
            amount = f"{amount_text(item.amount)} " if item.amount is not None else ""
            return f"return {amount}held sts to needle {held}".strip()
        case JoinRound():
            return "join in the round"
        case Remark():
            return item.text
        case _:
            assert_never(item)


def _work_text(item: Work) -> str:
    name = item.stitch.name
    how = "".join(f" {word}" for word in (*item.how, *([item.colour] if item.colour else [])))
    if name in _BARE_AMOUNT:
        return f"{name}{amount_text(item.amount)}{how}"
    if item.amount == (1,):
        return f"{name}{how}"
    if item.amount == (2,):
        return f"{name}{how} twice"
    return f"{name}{how} {amount_text(item.amount)} times"


_BARE_AMOUNT = {"k", "p", "sl"}


def _group_text(item: Group, depth: int) -> str:
    if item.star and depth == 0 and all(number is None or number > 1 for number in item.times):
        more = tuple(None if number is None else number - 1 for number in item.times)
        word = "times" if item.unsure else "more times"
        return f"*{_inner(item.body, 1)}; rep from * {amount_text(more)} {word}"
    return f"({_inner(item.body, depth)}) {amount_text(item.times)} times"


def _along_text(item: Along, depth: int) -> str:
    first = item.body[0]
    if not item.star and len(item.body) == 1 and isinstance(first, Work) and first.amount == (1,):
        how = "".join(
            f" {word}" for word in (*first.how, *([first.colour] if first.colour else []))
        )
        return f"{first.stitch.name}{how} {stop_text(item.stop)}"
    if depth or item.stop.kind is StopAt.GAP:
        return f"({_inner(item.body, depth)}) {stop_text(item.stop)}"
    return f"*{_inner(item.body, 1)}; rep from * {stop_text(item.stop)}".strip()


def _inner(items: tuple[Item, ...], depth: int) -> str:
    return ", ".join(_item_text(item, depth + 1) for item in items)


def stop_text(stop: StopWork) -> str:
    """Write a stop: "to end", "to last 2 sts", "to 3 sts before m"."""
    left = amount_text(stop.left)
    match stop.kind:
        case StopAt.END:
            if stop.left == (0,):
                return "to end"
            return "to last st" if stop.left == (1,) else f"to last {left} sts"
        case StopAt.REST:
            return ""
        case StopAt.MARKER:
            mark = f"marker {stop.mark}" if stop.mark else "m"
            return f"to {mark}" if stop.left == (0,) else f"to {left} sts before {mark}"
        case StopAt.GAP:
            return "to gap" if stop.left == (0,) else f"to {left} sts before gap"
        case _:
            assert_never(stop.kind)


def _hold_text(item: Hold) -> str:
    name = f" for {item.name}" if item.name else ""
    which = {
        HoldWhich.REST: "rem",
        HoldWhich.ALL: "all",
        HoldWhich.LAST: "last",
        HoldWhich.NEXT: "next",
    }
    amount = f" {amount_text(item.amount)}" if item.amount is not None else ""
    return f"place {which[item.which]}{amount} sts on holder{name}"
