"""
Words in which nothing is worked: set aside by that fact, and shown as a note.

There is no list of wordings. A sentence without any word of the trade is a note; a clause beside
work is set aside only if it stands at the end or the beginning of its sentence, is made of several
plain words, and neither refers to other rows nor sets a condition.
"""

from __future__ import annotations

import re
from difflib import get_close_matches

from engine.limits import spend

_CRAFT = tuple(
    re.findall(
        "[a-z]+",
        """k p knit knits knitting purl purls purling st sts stitch stitches row rows rnd rnds round
        rounds rd inc incs increase increases increasing dec decs decrease decreases decreasing
        bind bo cast co rep repeat repeats repeating yo yos yrn yfwd ssk ssp skp tog together sl
        slip slipping slipped work working worked patt pattern chart until turn marker markers sm
        pm rm holder hold rib ribbing garter stockinette stocking moss seed cable psso tbl wyif
        wyib kfb pfb loop loops times twice end graft pick continue cont foll following even
        straight shape shaping place remove remaining rem beg bor size sizes same repeated drop""",
    )
)
_MARKED_CRAFT = re.compile(r"[a-z]+\d|\d+ ?[a-z]*tog|[*\[\]{}]|\d+ ?\(\d", re.IGNORECASE)
_LIKENESS = 0.75
_STEPS_OF_LIKENESS = 20


def is_prose(text: str) -> bool:
    """Say whether nothing in a text could be work: no word of the trade, none nearly one."""
    if _MARKED_CRAFT.search(text):
        return False
    words = re.findall(r"[a-z]+", text.casefold())
    spend(_STEPS_OF_LIKENESS * len(words))
    return bool(words) and not any(
        word in _CRAFT or (len(word) > 1 and get_close_matches(word, _CRAFT, 1, _LIKENESS))
        for word in words
        if word not in _COMMON
    )


def is_scope(text: str) -> bool:
    """Say whether a sentence only says where or how often the work before it is done."""
    return _SCOPE.match(text.casefold()) is not None


_SCOPE = re.compile(
    r"[\s(\[]*(?:and |then |also )*(?:"
    r"(?:on|at|in|for|to|across|over|from|after|before|between) (?:of |the )*"
    r"(?:each|every|both|all|either|alternate|other|opposite)"
    r"|twice|again|likewise|similarly|ditto|the same|do (?:the same|this|so|likewise))(?![a-z])"
)


_COMMON = frozenset(
    re.findall(
        "[a-z]+",
        """a an and are as at back be body both by collar cuff do each edge edges finish finished
        for from front hem in into is it its left let neck not of off on one or other over right
        seam seams shoulder side sides sleeve sleeves so than that the their them then there these
        this those to two underarm underarms up use using we when where will with yarn you your
        ends needed needles wet sew sewn all lace before after set aside long tail neat neatly""",
    )
)


_REFERS = re.compile(
    r"(?<![a-z])(?:as|same|like|likewise|match\w*|revers\w*|mirror\w*|opposite|correspond\w*|without"
    r"|omit\w*|skip\w*|instead|only|except|but|unless|if|when|not|no|none|never|until|again|more|less"
    r"|fewer|extra|additional|others?|rest|half|both|all|each|every|any|twice|once|or|center|centre"
    r"|optional\w*|alternat\w*|alt|another|further|measur\w*|fasten\w*"
    r"|draw\w*|thread\w*|pull\w*|gather\w*|bobbles?|wrap\w*|pass\w*|nupps?|make|making)(?![a-z])"
)
_PLAIN = re.compile(
    r"(?<![a-z])(?:the|a|an|of|with|your|that|is|are|in|it|for|to|at|this|from|on)(?![a-z])"
)
_CLAUSE_ENDS = re.compile(r"[,;:()\[\]{}*]|\.(?!\d)|(?<= )-+(?= )")
_SHORTEST = 3


def clause_at(text: str, place: int) -> tuple[int, int]:
    """Return where the clause around a place begins and ends, with its brackets if it has any."""
    start, end = 0, len(text)
    for found in _CLAUSE_ENDS.finditer(text):
        if found.end() <= place:
            start = found.end()
        elif found.start() >= place:
            if found.start() == place and text[place] in "([{":
                start = found.end()
                continue
            end = found.start()
            break
    if text[start - 1 : start] in set("([{") and text[end : end + 1] in set(")]}"):
        return start - 1, end + 1
    return start, end


def plain_clause(text: str, start: int, end: int) -> bool:
    """Whether a clause is made of several plain words, at one end of its sentence."""
    words = text[start:end].strip("()[]{}")
    last = text[end : end + 1] in {"", ".", ";"} or text[end - 1] in ")]}"
    first = text[start - 1 : start] in {"", ".", ":"} and text[end : end + 1] == ","
    return (
        (first or last)
        and len(words.split()) >= _SHORTEST
        and _REFERS.search(words) is None
        and _PLAIN.search(words) is not None
        and re.search(r"\d|\*", words) is None
        and is_prose(words)
    )
