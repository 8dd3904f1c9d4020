"""Find circles of imports: modules of the product that cannot be understood without each other.

    python -m house.circles

An import counts wherever it stands, also inside a function: put there it hides the circle and
does not undo it. What only a type checker imports cannot stop the program from starting, so
circles that need such an import are told and do not fail.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Final

import grimp

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

PACKAGES: Final = ("app", "speech", "engine", "house")
"""The packages that are looked at, together."""

Circle = tuple[str, ...]
"""Modules of which each imports the next, and the last the first."""


def circles(packages: Sequence[str], *, for_types: bool) -> list[tuple[Circle, int]]:
    """
    Return a shortest circle of each group of modules that all lead to one another, by name.

    With it comes how many modules the group has. `for_types` also follows the imports that only
    a type checker makes.
    """
    graph = grimp.build_graph(
        *packages, exclude_type_checking_imports=not for_types, cache_dir=None
    )
    found = []
    seen = set[str]()
    for module in sorted(graph.modules):
        if module in seen:
            continue
        group = graph.find_downstream_modules(module) & graph.find_upstream_modules(module)
        if group:
            group.add(module)
            seen |= group
            found.append((min(_through(graph, group), key=lambda one: (len(one), one)), len(group)))
    return found


def _through(graph: grimp.ImportGraph, group: set[str]) -> Iterator[Circle]:
    """Yield for each import within a group a shortest circle that it closes."""
    for importer in group:
        for imported in graph.find_modules_directly_imported_by(importer) & group:
            back = graph.find_shortest_chain(importer=imported, imported=importer)
            if back is not None:
                yield back


def main(packages: Sequence[str] = PACKAGES) -> int:
    """Print every circle; 1 if one would be there at run time."""
    at_run_time = circles(packages, for_types=False)
    _tell("Circle of imports", at_run_time)
    groups = {circle for circle, _ in at_run_time}
    hidden = [one for one in circles(packages, for_types=True) if one[0] not in groups]
    _tell("Circle for the type checker only", hidden)
    if not at_run_time:
        print(f"No circle of imports in {', '.join(packages)}.")
    return 1 if at_run_time else 0


def _tell(what: str, found: list[tuple[Circle, int]]) -> None:
    for circle, modules in found:
        among = f" (among {modules} that lead to one another)" if modules > len(circle) else ""
        print(f"{what}: {' -> '.join((*circle, circle[0]))}{among}")


if __name__ == "__main__":
    sys.exit(main())
