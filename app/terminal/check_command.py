"""The sub-command `walesong check`: does every row of a pattern add up, for every size."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from app.pieces.mending import in_words, remedy
from app.pieces.pattern_cache import document_to_check
from app.pieces.taken_lines import lines_of
from app.reading import text_of
from app.terminal.marked_lines import KEY, marked
from app.terminal.mending_dialogue import mend_file
from engine.pattern import PatternDocument

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable

    from app.pieces.taken_lines import TakenLine
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
  lines      with --lines, for all sizes together: line, became, stitches (one for each size),
             aside (words kept and not worked), text

examples:
  walesong check cap.toml
  walesong check --lines cap.toml
  walesong check --mend cap.toml
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
    parser.add_argument(
        "--lines",
        action="store_true",
        help="show every row: counted, compared, set aside, not read",
    )
    parser.add_argument(
        "--mend",
        action="store_true",
        help="go through the rows that cannot be read, ask about each, and write the file back",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """
    Print the verdicts.

    0 all right, 1 something does not add up, 2 wrongly called, 3 a file cannot be opened or
    written.
    """
    if options.mend and options.json:
        print("walesong check: --mend asks, and --json is for no one who answers.", file=sys.stderr)
        return 2
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
    if options.mend:
        return mend_file(path, text)
    document = document_to_check(text)
    if not isinstance(document, PatternDocument):
        return _refused(path, document, options)
    verdicts = [
        verdict
        for verdict in document.check()
        if options.size is None or (verdict.size or "").casefold() == options.size.casefold()
    ]
    if not verdicts:
        known = ", ".join(document.sizes) or "one size without a name"
        print(f"walesong check: {path} has {known}, not '{options.size}'.", file=sys.stderr)
        return 2
    if options.json:
        for verdict in verdicts:
            _show_json(path, verdict, document, options)
    else:
        _show(path, verdicts, document, options)
    return 0 if all(verdict.ok for verdict in verdicts) else 1


def _refused(path: Path, problems: tuple[Problem, ...], options: argparse.Namespace) -> int:
    """Say why a file is no pattern at all."""
    if options.json:
        _print_json(path, None, problems, (), ())
    else:
        print(f"{path}: does not add up")
        for problem in problems:
            print(f"  {_place(path, problem)}: {_sentence(problem)}")
    return 1


def _show(
    path: Path,
    verdicts: list[SizeVerdict],
    document: PatternDocument,
    options: argparse.Namespace,
) -> None:
    """Print the verdict on every size, and every problem once, with the sizes that have it."""
    for verdict in verdicts:
        name = f"{path}, size {verdict.size}" if verdict.size else str(path)
        trusted = sum(1 for count in verdict.counts if not count.checked)
        note = f" ({trusted} taken on trust)" if trusted else ""
        adds_up = f"adds up, {len(verdict.counts)} written rows{note}"
        print(f"{name}: {adds_up if verdict.ok else 'does not add up'}")
    for problem, sizes in _once(verdict.problems for verdict in verdicts):
        print(f"  {_place(path, problem)}: {_sentence(problem)}{_of(sizes, verdicts)}")
        found = remedy(document, problem)
        for sentence in in_words(found) if found is not None else ():
            print(f"      {sentence}")
    for warning, sizes in _once(verdict.warnings for verdict in verdicts):
        print(f"  {_place(path, warning)}: note: {_sentence(warning)}{_of(sizes, verdicts)}")
    if options.lines:
        print(f"\n{KEY}\n")
        for line in lines_of(document):
            print(marked(line))


def _once(
    problems: Iterable[tuple[Problem, ...]],
) -> Iterable[tuple[Problem, tuple[str, ...]]]:
    """Return each problem once, in the order of the file, with the names of the sizes it is in."""
    sizes: dict[Problem, list[str]] = {}
    for problem in (one for each in problems for one in each):
        sizes.setdefault(replace(problem, size=None), []).append(problem.size or "")
    in_order = sorted(sizes.items(), key=lambda one: (one[0].line or 0, one[0].column or 0))
    return [(problem, tuple(dict.fromkeys(names))) for problem, names in in_order]


def _of(sizes: tuple[str, ...], verdicts: list[SizeVerdict]) -> str:
    """Name the sizes, unless it is all of them."""
    named = [name for name in sizes if name]
    return f" (size {', '.join(named)})" if 0 < len(named) < len(verdicts) else ""


def _place(path: Path, problem: Problem) -> str:
    return f"{path}:{problem.line or 1}:{problem.column or 1}"


def _sentence(problem: Problem) -> str:
    about = ", ".join(part for part in (problem.section, problem.row) if part)
    return f"{about}: {problem.message}" if about else problem.message


def _show_json(
    path: Path,
    verdict: SizeVerdict,
    document: PatternDocument,
    options: argparse.Namespace,
) -> None:
    lines = lines_of(document) if options.lines else None
    _print_json(path, verdict.size, verdict.problems, verdict.warnings, verdict.counts, lines)


def _print_json(
    path: Path,
    size: str | None,
    problems: tuple[Problem, ...],
    warnings: tuple[Problem, ...],
    counts: tuple[RowCount, ...],
    lines: tuple[TakenLine, ...] | None = None,
) -> None:
    said: dict[str, object] = {
        "file": str(path),
        "size": size,
        "ok": not problems,
        "problems": [_problem_json(problem) for problem in problems],
        "warnings": [_problem_json(warning) for warning in warnings],
        "counts": [_count_json(count) for count in counts],
    }
    if lines is not None:
        said["lines"] = [_line_json(line) for line in lines]
    print(json.dumps(said, ensure_ascii=False))


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


def _line_json(line: TakenLine) -> dict[str, object]:
    return {
        "line": line.number,
        "became": line.became.value,
        "stitches": list(line.stitches),
        "aside": list(line.aside),
        "text": line.text,
    }
