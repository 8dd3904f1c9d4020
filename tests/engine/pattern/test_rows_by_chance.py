"""Rows made by chance: printed and read again, counted and compared with single loops in a list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from app.pieces.pattern_cache import row_reader
from engine.pattern import PatternDocument, read_pattern
from engine.pattern.hands import work
from engine.pattern.needle import Misfit, Needle, count_map
from engine.pattern.notation import Along, Group, InStitch, Item, StopWork, Work
from engine.pattern.problems import PatternError
from engine.pattern.row_text import items_text
from engine.pattern.rows import row_of
from engine.pattern.stitches import STITCHES, cable, together
from tests.engine.pattern import single_loops

if TYPE_CHECKING:
    from tests.engine.pattern.single_loops import Step

# What each stitch takes and leaves, by hand from the Craft Yarn Council's list of abbreviations as
# independent glossaries explain them; not taken from the product's table.
LOOPS = {
    "k": (1, 1), "p": (1, 1), "sl": (1, 1), "ssk": (2, 1), "ssp": (2, 1), "sssk": (3, 1),
    "skp": (2, 1), "sk2p": (3, 1), "s2kp": (3, 1), "cdd": (3, 1), "kfb": (1, 2), "pfb": (1, 2),
    "kfbf": (1, 3), "yo": (0, 1), "m1": (0, 1), "m1l": (0, 1), "m1r": (0, 1), "m1p": (0, 1),
    "k2tog": (2, 1), "p2tog": (2, 1), "k3tog": (3, 1), "p3tog": (3, 1), "c4f": (4, 4),
    "t3b": (3, 3),
}  # fmt: skip
_SHAPED = sorted(set(LOOPS) - {"k", "p", "sl"})


def _stitch(name: str) -> Work:
    if name.endswith("tog"):
        return Work(together(name[0], int(name[1:-3])))
    return Work(STITCHES.get(name) or cable(name))


def _plain(name: str, amount: int) -> Work:
    return Work(STITCHES[name], (amount,))


stitches: st.SearchStrategy[Item] = st.one_of(
    st.builds(_plain, st.sampled_from(["k", "p", "sl"]), st.integers(1, 12)),
    st.sampled_from(_SHAPED).map(_stitch),
)
_into_one = st.lists(st.sampled_from(["k", "p", "yo"]), min_size=2, max_size=5).map(
    lambda names: InStitch(tuple(_stitch(name) for name in names))
)
_groups = st.builds(
    lambda body, times: Group(tuple(body), (times,)),
    st.lists(st.one_of(stitches, _into_one), min_size=2, max_size=4),
    st.integers(2, 6),
)
fixed_items = st.lists(st.one_of(stitches, _groups, _into_one), max_size=5)


def _elastic(body: list[Item], after: list[Item]) -> tuple[Item, ...]:
    takes = sum(_takes(item) for item in after)
    return (Along(tuple(body), StopWork(left=(takes,)), star=True), *after)


def _takes(item: Item) -> int:
    match item:
        case Work():
            return LOOPS[item.stitch.name][0] * (item.amount[0] or 0)
        case Group():
            return sum(map(_takes, item.body)) * (item.times[0] or 0)
        case InStitch():
            return 1
        case _:
            raise AssertionError(item)


_bodies = st.lists(stitches, min_size=2, max_size=4).filter(lambda body: sum(map(_takes, body)) > 0)
rows: st.SearchStrategy[tuple[Item, ...]] = st.one_of(
    fixed_items.filter(bool).map(tuple),
    st.builds(
        lambda before, rest: (*before, *rest),
        fixed_items,
        st.builds(_elastic, _bodies, fixed_items),
    ),
    st.builds(lambda name: (Along((_stitch(name),)),), st.sampled_from(["k", "p"])),
)


def steps_of(items: tuple[Item, ...]) -> list[Step]:
    """Return the row for the knitter of single loops."""
    steps: list[Step] = []
    for item in items:
        match item:
            case Work():
                takes, leaves = LOOPS[item.stitch.name]
                steps.append(("times", item.amount[0] or 0, [("work", takes, leaves)]))
            case Group():
                steps.append(("times", item.times[0] or 0, steps_of(item.body)))
            case InStitch():
                made = sum(
                    LOOPS[part.stitch.name][1] for part in item.body if isinstance(part, Work)
                )
                steps.append(("work", 1, made))
            case Along():
                steps.append(("until", item.stop.left[0] or 0, steps_of(item.body)))
            case _:
                raise AssertionError(item)
    return steps


@given(rows)
def test_a_printed_row_reads_as_the_same_row(items: tuple[Item, ...]) -> None:
    """Printing a row in the usual abbreviations and reading it again is the identity."""
    text = items_text(items)
    assume("yo, yo" not in text)  # which is another way to write "yo twice"
    assert row_of(row_reader().read(text).phrases).items == items, text


@given(rows, st.integers(0, 160))
def test_counts_agree_with_single_loops(items: tuple[Item, ...], loops: int) -> None:
    """Working a row and its map of counts both say what moving single loops says."""
    expected = single_loops.row(loops, steps_of(items))
    after = work(Needle((loops,)), items)
    assert (None if isinstance(after, Misfit) else after.total) == expected
    effect = count_map(items)
    assert effect is not None
    assert effect(loops) == expected


@given(st.lists(rows, min_size=1, max_size=4), st.integers(1, 90), st.integers(2, 5))
def test_repeated_rows_agree_with_single_loops(
    several: list[tuple[Item, ...]], cast_on: int, times: int
) -> None:
    """A pattern of rows worked again and again is counted as single loops are, or refused where."""
    texts = [f"Row {number}: {items_text(items)}" for number, items in enumerate(several, 1)]
    texts.append(f"Rep rows 1-{len(several)} {times - 1} more times")
    quoted = ",\n".join(f'"{text}"' for text in texts)
    document = read_pattern(f'title = "x"\ncast_on = {cast_on}\nrows = [{quoted}]', row_reader())
    assert isinstance(document, PatternDocument), document
    (verdict,) = document.check()
    count: int | None = cast_on
    for _ in range(times):
        for items in several:
            count = None if count is None else single_loops.row(count, steps_of(items))
    assert verdict.ok == (count is not None)
    if count is not None:
        assert verdict.counts[-1].stitches == count


_WORDS = """
* rep_from_* ( ) [ ] to_end to_m sm pm 12 3 times row_1: rnd , ; . sts dec every foll alt rows until
cm at each_end BO CO holder place turn w&t 24_(28,_32) in next st ** rep_last_2_rows 5 to_last_2_sts
"""
_words = st.sampled_from([*LOOPS, *(word.replace("_", " ") for word in _WORDS.split())])


@given(st.one_of(st.text(max_size=120), st.lists(_words, max_size=25).map(" ".join)))
def test_no_line_crashes_the_reader(text: str) -> None:
    """Any line is read or refused with one sentence that points into the line."""
    problem = None
    try:
        row_reader().read(text)
    except PatternError as error:
        problem = error.problem
    if problem is not None:
        assert problem.message.endswith(".")
        assert problem.column is None or 1 <= problem.column <= len(text) + 1


@settings(max_examples=150)
@given(
    st.one_of(st.binary(max_size=400), st.lists(_words, max_size=40).map(" ".join).map(str.encode))
)
def test_no_file_crashes_the_reader(data: bytes) -> None:
    """Any bytes in a pattern file, or in its rows, end in a pattern or in problems."""
    text = data.decode("utf-8", "replace")
    for file in (text, f"title = 'x'\ncast_on = 24\nrows = ['''{text}''']"):
        document = read_pattern(file, row_reader())
        if isinstance(document, PatternDocument):
            document.check()
            document.course().where({}, 3)
        else:
            assert document
            assert all(problem.message for problem in document)


def test_the_counts_of_the_table_are_those_of_the_glossaries() -> None:
    """Takes and leaves of every stitch compared here stand in the product's table, too."""
    for name, loops in LOOPS.items():
        stitch = _stitch(name).stitch
        assert (stitch.takes, stitch.leaves) == loops, name
