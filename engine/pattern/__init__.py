"""
Written patterns: read, checked for every size, and known row by row.

`read_pattern` reads a pattern file; the `PatternDocument` it gives is checked for every size and
makes the `Course` of a size, which says for every row what it is and how many stitches it leaves.
"""

from __future__ import annotations

from engine.pattern.assembly_state import RowCount
from engine.pattern.course import (
    Course,
    OpenLoop,
    PartnerRows,
    Place,
    RepeatPlace,
    plain_course,
)
from engine.pattern.document import PatternDocument, SizeVerdict, WrittenLine
from engine.pattern.headings import Side
from engine.pattern.instead import Instead, instead
from engine.pattern.instruction import Instruction
from engine.pattern.pattern_file import read_pattern
from engine.pattern.problems import PatternError, Problem
from engine.pattern.row_reader import RowReader

__all__ = [
    "Course",
    "Instead",
    "Instruction",
    "OpenLoop",
    "PartnerRows",
    "PatternDocument",
    "PatternError",
    "Place",
    "Problem",
    "RepeatPlace",
    "RowCount",
    "RowReader",
    "Side",
    "SizeVerdict",
    "WrittenLine",
    "instead",
    "plain_course",
    "read_pattern",
]
