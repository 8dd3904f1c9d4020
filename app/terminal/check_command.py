"""The sub-command `walesong check`: does every row of a pattern add up, for every size."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app.pieces.pattern_cache import document_to_check
from app.reading import text_of
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    import argparse

    from engine.pattern import Problem, RowCount, SizeVerdict

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001

_EPILOG = """\
with --json every line is one object for one size of one file:
  file, size (null if the pattern has no sizes), ok,
  problems   line, column, section, row (the designer's heading), row_number (from the cast-on),
             off_by (stitches; above zero left over, below zero too few), message
  warnings   the same: what is odd but can be knitted
  counts     section, row, line, stitches (null: not known), checked (false: taken on trust),
             one entry for every written row or range of rows

examples:
  walesong check cap.toml
  walesong check --json *.toml
"""


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    from argparse import RawDescriptionHelpFormatter  # noqa: PLC0415

    parser = commands.add_parser(
        "check",
        description=(
            "Read pattern files and count the stitches of every row for every size. What cannot "
            "be read, and every row that does not add up, is pointed at with its line and column. "
            "Exit code 0 only when everything is right. The form of the file is described in "
            "docs/PATTERN-FILE.md."
        ),
        epilog=_EPILOG,
        formatter_class=RawDescriptionHelpFormatter,
    )
    parser.add_argument("files", metavar="FILE", nargs="+", type=Path, help="a pattern file (TOML)")
    parser.add_argument("--size", metavar="NAME", help="only this size")
    parser.add_argument("--json", action="store_true", help="print one JSON object per size")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print the verdicts: 0 all right, 1 something does not add up, 3 a file cannot be opened."""
    worst = 0
    for path in options.files:
        worst = max(worst, _check(path, options))
    return worst


def _check(path: Path, options: argparse.Namespace) -> int:
    try:
        text = text_of(path)
    except OSError as error:
        print(f"walesong check: {path} cannot be opened: {error.strerror}.", file=sys.stderr)
        return 3
    except UnicodeDecodeError:
        print(f"walesong check: {path} is not a text in UTF-8.", file=sys.stderr)
        return 3
    document = document_to_check(text)
    if not isinstance(document, PatternDocument):
        _show(path, None, document, (), (), options)
        return 1
    verdicts = [
        verdict
        for verdict in document.check()
        if options.size is None or (verdict.size or "").casefold() == options.size.casefold()
    ]
    if not verdicts:
        known = ", ".join(document.sizes) or "one size without a name"
        print(f"walesong check: {path} has {known}, not '{options.size}'.", file=sys.stderr)
        return 2
    for verdict in verdicts:
        _show_verdict(path, verdict, options)
    return 0 if all(verdict.ok for verdict in verdicts) else 1


def _show_verdict(path: Path, verdict: SizeVerdict, options: argparse.Namespace) -> None:
    _show(path, verdict.size, verdict.problems, verdict.warnings, verdict.counts, options)


def _show(
    path: Path,
    size: str | None,
    problems: tuple[Problem, ...],
    warnings: tuple[Problem, ...],
    counts: tuple[RowCount, ...],
    options: argparse.Namespace,
) -> None:
    if options.json:
        print(
            json.dumps(
                {
                    "file": str(path),
                    "size": size,
                    "ok": not problems,
                    "problems": [_problem_json(problem) for problem in problems],
                    "warnings": [_problem_json(warning) for warning in warnings],
                    "counts": [_count_json(count) for count in counts],
                },
                ensure_ascii=False,
            )
        )
        return
    name = f"{path}, size {size}" if size else str(path)
    if not problems:
        trusted = sum(1 for count in counts if not count.checked)
        note = f" ({trusted} taken on trust)" if trusted else ""
        print(f"{name}: adds up, {len(counts)} written rows{note}")
    else:
        print(f"{name}: does not add up")
    for problem in problems:
        print(f"  {path}:{problem.line or 1}:{problem.column or 1}: {_sentence(problem)}")
    for warning in warnings:
        print(f"  {path}:{warning.line or 1}:{warning.column or 1}: note: {_sentence(warning)}")


def _sentence(problem: Problem) -> str:
    about = ", ".join(part for part in (problem.section, problem.row) if part)
    return f"{about}: {problem.message}" if about else problem.message


def _problem_json(problem: Problem) -> dict[str, object]:
    return {
        "line": problem.line,
        "column": problem.column,
        "section": problem.section,
        "row": problem.row,
        "row_number": problem.row_number,
        "off_by": problem.off_by,
        "message": problem.message,
    }


def _count_json(count: RowCount) -> dict[str, object]:
    return {
        "section": count.section,
        "row": count.row,
        "line": count.line,
        "stitches": count.stitches,
        "checked": count.checked,
    }
