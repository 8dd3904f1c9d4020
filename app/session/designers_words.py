"""What a designer says around the rows: cautions when a piece is begun, finishing at its end."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.pieces.pattern_cache import document_to_knit
from engine.pattern import Instruction, PatternDocument
from engine.pattern.lines import LineKind
from engine.replies import Say, reply

if TYPE_CHECKING:
    from engine.pattern.lines import Prepared
    from engine.replies import Reply
    from engine.state import PieceState


def _document(state: PieceState) -> PatternDocument | None:
    text = dict(state.texts).get(state.pattern.sha256) if state.pattern is not None else None
    document = document_to_knit(text) if text is not None else None
    return document if isinstance(document, PatternDocument) else None


def cautions(state: PieceState) -> tuple[Reply, ...]:
    """Return what the pattern of a piece warns of, in its own words; () for none."""
    document = _document(state)
    warned = document.cautions if document is not None else ()
    return tuple(reply(Say.CAUTION, words=words.strip().rstrip(".")) for words in warned)


def finishing(state: PieceState) -> tuple[Reply, ...]:
    """Return what the pattern says is to be done after the last row, in its own words."""
    document, pattern = _document(state), state.pattern
    if document is None or pattern is None:
        return ()
    wanted = (state.pattern_piece or "").casefold()
    piece = next(
        (one for one in document.pieces if one.title.casefold() == wanted), document.pieces[0]
    )
    lines = [line for section in piece.sections for line in section.lines]
    size = document.sizes.index(pattern.size) if pattern.size in document.sizes else 0
    after: list[str] = []
    for line in reversed(lines):
        if line.kind is not LineKind.REMARK:
            break
        if _is_for(line, size):
            after.insert(0, line.line.text.strip().rstrip("."))
    return tuple(reply(Say.FINISHING, instruction=Instruction(text=words)) for words in after)


def _is_for(line: Prepared, size: int) -> bool:
    sizes = line.cache.get("sizes")
    return not isinstance(sizes, frozenset) or size in sizes
