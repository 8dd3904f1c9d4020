"""
Events as plain JSON values and back again.

The mapping is derived from the fields of the event classes, so a payload cannot drift from its
class. Lengths and weights become {"value": "4 3/8", "unit": "in"}, fractions "20.5"; enumerations
their names; the rest is JSON already.
"""

from __future__ import annotations

from dataclasses import fields
from enum import StrEnum
from fractions import Fraction
from functools import cache
from reprlib import repr as shortened
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Any, Final, get_args, get_origin, get_type_hints

from engine.events import EVENTS, Event
from engine.quantities import Length, LengthUnit, Mass, MassUnit, number_text, parse_number

if TYPE_CHECKING:
    from collections.abc import Callable

Json = Any
"""What the json module makes of a text."""


_LONGEST_NAMED: Final = 40


class PayloadError(ValueError):
    """A payload that is not one of ours; the message is a sentence for the reader of a journal."""


def to_payload(event: Event) -> dict[str, Json]:
    """Return the event's fields as JSON values, without its kind."""
    return {field.name: _plain(getattr(event, field.name)) for field in fields(event)}


def _plain(value: object) -> Json:
    if isinstance(value, Length | Mass):
        return {"value": number_text(value.value, value.unit), "unit": value.unit.value}
    if isinstance(value, Fraction):
        return number_text(value)
    if isinstance(value, StrEnum):
        return value.value
    if value is None or isinstance(value, bool | int | str):
        return value
    message = f"An event cannot hold a {type(value).__name__}."
    raise TypeError(message)


def from_payload(kind: str, payload: Json) -> Event:
    """
    Return the event of `kind` with the fields in `payload`.

    Raises:
        PayloadError: unknown kind, missing or surplus fields, or a value of the wrong type.

    """
    event_class: Callable[..., Event] | None = EVENTS.get(kind)
    if event_class is None:
        message = f'"{kind[:_LONGEST_NAMED]}" is not an event that this Walesong knows.'
        raise PayloadError(message)
    types = _field_types(kind)
    if not isinstance(payload, dict) or payload.keys() != types.keys():
        message = f'An event "{kind}" needs exactly the fields {", ".join(types)}.'
        raise PayloadError(message)
    return event_class(**{name: _read(kind, name, types[name], payload[name]) for name in types})


@cache
def _field_types(kind: str) -> dict[str, tuple[type, ...]]:
    event_class = EVENTS[kind]
    hints = get_type_hints(event_class)
    return {field.name: _alternatives(hints[field.name]) for field in fields(event_class)}


def _alternatives(hint: Any) -> tuple[type, ...]:  # noqa: ANN401 (a type hint is any object)
    return get_args(hint) if get_origin(hint) is UnionType else (hint,)


def _read(kind: str, name: str, types: tuple[type, ...], value: Json) -> object:
    for wanted in types:
        if wanted is NoneType:
            if value is None:
                return None
        elif issubclass(wanted, StrEnum):
            if isinstance(value, str) and value in set(wanted):
                return wanted(value)
        elif wanted is Fraction:
            number = parse_number(value) if isinstance(value, str) else None
            if number is not None:
                return number
        elif wanted is Length or wanted is Mass:
            quantity = _read_quantity(wanted, value)
            if quantity is not None:
                return quantity
        elif type(value) is wanted and not (isinstance(value, int) and value < 0):
            return value
    message = f'The field "{name}" of an event "{kind}" cannot be {shortened(value)}.'
    raise PayloadError(message)


def _read_quantity(wanted: type, value: Json) -> Length | Mass | None:
    if not isinstance(value, dict) or value.keys() != {"value", "unit"}:
        return None
    number = parse_number(value["value"]) if isinstance(value["value"], str) else None
    if number is None:
        return None
    unit = value["unit"]
    if not isinstance(unit, str):
        return None
    if wanted is Length:
        return Length(number, LengthUnit(unit)) if unit in set(LengthUnit) else None
    return Mass(number, MassUnit(unit)) if unit in set(MassUnit) else None
