"""Drawings as SVG 1.1 inside a page: no scripts, no fonts of their own, nothing from elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never
from xml.sax.saxutils import escape, quoteattr

from app.printing.shapes import (
    Area,
    CurveShape,
    Dot,
    LineShape,
    PathShape,
    Shape,
    Stamped,
    Words,
)

if TYPE_CHECKING:
    from app.printing.shapes import Drawing


def svg(drawing: Drawing, name: str, *, scale: float = 1.0) -> str:
    """Return a drawing as an `<svg>` element; `name` keeps its ids apart from those of others.

    `scale` enlarges what is printed; on a screen it is never wider than the page.
    """
    width, height = drawing.width * scale, drawing.height * scale
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="{name}-what" '
        f'viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}" '
        f'width="{_n(width)}mm" height="{_n(height)}mm">'
    )
    parts = [head, f'<title id="{name}-what">{escape(drawing.describes)}</title>']
    if drawing.stamps:
        parts.append("<defs>")
        for stamp, shapes in drawing.stamps.items():
            parts.append(
                f'<g id="{name}-{stamp}">{"".join(_shape(one, name) for one in shapes)}</g>'
            )
        parts.append("</defs>")
    parts += [_shape(shape, name) for shape in drawing.shapes]
    parts.append("</svg>")
    return "".join(parts)


def _shape(shape: Shape, name: str) -> str:
    match shape:
        case LineShape():
            dash = f' stroke-dasharray="{_n(shape.dash)}"' if shape.dash else ""
            return (
                f'<line x1="{_n(shape.x1)}" y1="{_n(shape.y1)}" x2="{_n(shape.x2)}" '
                f'y2="{_n(shape.y2)}" {_stroke(shape.ink, shape.width)}{dash}/>'
            )
        case Area():
            points = " ".join(f"{_n(x)},{_n(y)}" for x, y in shape.points)
            return f'<polygon points="{points}" {_filled(shape.fill, shape.ink, shape.width)}/>'
        case CurveShape():
            (x0, y0), (x1, y1), (x2, y2), (x3, y3) = shape.points
            return (
                f'<path d="M{_n(x0)} {_n(y0)}C{_n(x1)} {_n(y1)} {_n(x2)} {_n(y2)} {_n(x3)} '
                f'{_n(y3)}" fill="none" stroke-linecap="round" {_stroke(shape.ink, shape.width)}/>'
            )
        case PathShape():
            points = " ".join(f"{_n(x)},{_n(y)}" for x, y in shape.points)
            cap = "round" if shape.round_ends else "butt"
            return (
                f'<polyline points="{points}" fill="none" stroke-linejoin="round" '
                f'stroke-linecap="{cap}" {_stroke(shape.ink, shape.width)}/>'
            )
        case Dot():
            return (
                f'<circle cx="{_n(shape.x)}" cy="{_n(shape.y)}" r="{_n(shape.radius)}" '
                f"{_filled(shape.fill, shape.ink, shape.width)}/>"
            )
        case Words():
            weight = ' font-weight="bold"' if shape.bold else ""
            return (
                f'<text x="{_n(shape.x)}" y="{_n(shape.y)}" font-size="{_n(shape.size)}" '
                f'text-anchor="{shape.anchor}" fill="{shape.ink}"{weight}>'
                f"{escape(shape.text)}</text>"
            )
        case Stamped():
            a, b, c, d, e, f = shape.matrix
            href = quoteattr(f"#{name}-{shape.stamp}")
            if (a, b, c, d) == (1, 0, 0, 1):
                return f'<use href={href} x="{_n(e)}" y="{_n(f)}"/>'
            numbers = " ".join(_n(number) for number in shape.matrix)
            return f'<use href={href} transform="matrix({numbers})"/>'
        case _:
            assert_never(shape)


def _stroke(ink: str, width: float) -> str:
    return f'stroke="{ink}" stroke-width="{_n(width)}"'


def _filled(fill: str, ink: str, width: float) -> str:
    stroke = _stroke(ink, width) if ink and width else 'stroke="none"'
    return f'fill="{fill or "none"}" {stroke}'


def _n(number: float) -> str:
    """Write a number with at most two decimals."""
    return f"{number:.2f}".rstrip("0").rstrip(".") or "0"
