"""
What the open-ended words of the grammar may hold: no work, no amount that is not read.

"Along the left edge", "from cast-on edge", "being careful not to twist" go on until the next sign.
The place they name is kept and shown; whatever else such words hold would be read past, so a word
that says what is done, how often, or to how many stitches makes the line one that cannot be read.
The kinds of words that are set aside altogether have a law of their own (`set_aside`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.pattern.set_aside import NUMBER_WORDS
from engine.pattern.when_needed import WhenNeeded

if TYPE_CHECKING:
    import re

_DOING = WhenNeeded(
    r"\d|(?<![a-z])(?:k|p|knit(?:ting)?|purl(?:ing)?|tog(?:ether)?|ss[kp]|skp|psso|yo|yrn|[kp]fb"
    r"|m1[lrp]?|mak(?:e|ing)|inc|increas\w*|dec|decreas\w*|bind(?:ing)?|bo|casting|pick\w*"
    r"|slip\w*|sl|turn\w*|wrap\w*|omit\w*|skip\w*|drop\w*|work(?:ing)?|rep|repeat\w*|evenly"
    r"|leav\w*|plac\w*|put|transfer\w*|return\w*|unworked|join\w*|rejoin\w*|rows?|rnds?|rounds?"
    r"|times|twice|once|thrice|every|alt|alternate|end(?:ing)? (?:with|k|p)|as (?:given|for)"
    rf"|{NUMBER_WORDS})(?![a-z])"
)
_PLACES = (
    r"(?:cast|bind|bound|bo|co)[ -]?(?:on|off)?[ -](?:edge|sts?|stitch(?:es)?|row|rnd|round)",
    r"(?:beg(?:inning)?|start|end) of (?:the |this )?(?:rnd|round|row|rib|work|border|band)",
    (
        r"(?:joining|turning|fold|picot|purl|dividing|set-?up|last|first|marked|joined) "
        r"(?:ridge|row|rnd|round)"
    ),
    r"(?:row|rnd|round) \d{1,3}$",
    (
        r"(?:block|log|square|piece|strip|panel|front|section|part|edge|side|needle|chart) "
        r"(?:\d{1,2}|one|two|three|four)(?![\d/a-z])"
    ),
    r"(?:size )?\d+(?:\.\d+)? ?mm (?:circular )?(?:needles?|dpns?)",
    r"each of (?:the )?(?:other |rem )*(?:two|three|four|2|3|4) (?:sides|edges)",
    r"round (?:the )?(?:armhole|neck|edge|blanket)s?(?: edge)?",
    r"picked[ -]up (?:sts|edge|row)",
    r"at (?:the )?underarm",
    r"(?:2|two|3|three|both) strands(?: of [a-z]+)?(?: held)?(?: tog(?:ether)?| as one)?",
    r"and divide (?:evenly )?(?:over|onto|between|among) \d (?:needles|dpns)",
    r"(?<=between )two(?= )",
    r"(?:the |your )?work (?:from [a-z -]+ )?(?=measur|meas|is|reaches)|of (?:the )?work(?![a-z])",
)
_NAMED_ROW = (
    r"(?:(?:inc|dec)(?:rease)?\w*|turning|joining|fold|rs|ws|side|odd|even|all|every|marker"
    r"|short|wrap|buttonhole|eyelet|bind[ -]off|cast[ -]o(?:n|ff)|set-?up|plain|knit|purl)"
    r"(?:[ -](?:numbered ))?(?:[ -](?:row|rnd|round)s?)?(?: only)?(?![a-z\d])"
)
_BEGINNINGS = {
    "JOIN_ROUND": (
        (
            r"^join(?:ing)?,?(?: (?:to|for))?(?: (?:work|working|knit|knitting))?"
            r"(?:,? (?:in|into)(?: the| a)? (?:round|rnds?|circle|ring)(?: again)?)?(?![a-z])"
        ),
        r"(?:being|taking) care(?:ful)?",
        r"all (?:the )?sts are",
    ),
    "M1": (
        r"^m(?:ake|k)? ?(?:1|one)(?: (?:st|stitch))?",
        (
            r"(?:by )?(?:pick|lift)(?:ing)? (?:up )?(?:the )?(?:horizontal |running )?"
            r"(?:bar|loop|strand|thread|ladder|yarn|st(?:itch)? below)"
        ),
        r"(?:knit|purl|work)(?:ing|s)? (?:it )?(?:tbl|(?:through|into|in) (?:the )?(?:front|back))",
        r"(?:and )?plac(?:e|ing) it on (?:the )?(?:left|lh)",
        r"two (?=needles|sts)",
    ),
    "WRAPS_TOO": (
        r"pick(?:ing)? up|wraps?|wrapped|tog(?:ether)?|work(?:ing)?|k(?:nit)?(?:ting)?(?![a-z\d])",
        r"p(?:url)?(?:ing)?(?![a-z\d])|as (?:one|1)(?: st(?:itch)?)?(?![a-z])",
        r"the st(?:itch)? (?:it|they) wraps?",
    ),
    "UNTIL_EVENT": (
        # how long it is, the knitter says: the number is shown and spoken to her
        (
            r"^(?:until|till) (?:you have|there are)(?: (?:worked|completed))? (?:\d+|[a-z]+) "
            r"(?:garter )?(?:ridges|rows|rnds|rounds|repeats|patt(?:ern)? rep(?:eat)?s)"
        ),
        (
            r"[\d¼½¾⅓⅔⅛⅜⅝⅞][\d ¼½¾⅓⅔⅛⅜⅝⅞.,/()\[\]-]*(?:cms?|in(?:ch(?:es)?)?\.?|\"|yds?|yards?|m|"
            r"met(?:re|er)s?|g|grams?)(?![a-z])"
        ),
    ),
    "REJOIN": (
        r"^.*?(?:re-?)?join(?:ing)?|^attach(?:ing)?",
        r"(?:a )?(?:new|second|2nd|another) (?=ball|yarn)",
        (
            r"to (?:the )?(?:(?:rem\w*|held|next|these|those|last|first|other|neck|live)\.? )*"
            r"\d+(?: ?[(\[][\d ,:;/|-]*[)\]])? (?:[a-z]+ )?(?:sts?|stitch(?:es)?)(?![a-z])"
        ),
    ),
    "MARK_PLACE": (
        r"^(?:pm|plac(?:e|ing)(?: [a-z]+)*? (?:marker|m))(?: \(pm\))?",
        r"end of (?:the )?(?:rnd|round)",
    ),
    "EVENLY": (
        r"evenly|(?:the |this |last |next |first )?(?:row|rnd|round)(?![a-z])",
    ),
    "IN_THIS_WAY": (),
    "UNTIL_WORKED": (r"every (?=wrap)|worked|wrap(?:s|ped)?|unworked",),
    "ON_HOLDER": (
        r"unworked|(?:one|two|2|three|second|third|another)(?= )|length of|\d+(?:\.\d+)? ?mm(?= )",
    ),
    "HELD": (r"(?:back )?on(?:to)? (?:one|two)|(?:of |from )?(?:one|two|first|second)(?= )",),
    "ON_RIGHT": (r"bind[ -]off|cast[ -]off|bo(?![a-z])",),
    "HEAD_NOTE": (
        (
            r"\d+(?: ?[(\[][\d ,:;/|-]*[)\]])?(?: (?:sts?|stitch(?:es)?|inc\w*|dec\w*))+"
            r"(?: now| rem\w*| total)?"
        ),
        _NAMED_ROW,
        r"(?:inc|dec)\w* \d+(?: ?[(\[][\d ,:;/|-]*[)\]])?(?: (?:sts?|stitch(?:es)?))?",
    ),
}  # fmt: skip
_ALONE = frozenset(
    ("WHERE", "PICKED_WHERE", "FROM_WHERE", "UNTIL_MEASURES", "UNTIL_SAME", "TO_BOUND_OFF")
)
"""Words that only name a place or a length."""

OPEN = _ALONE | frozenset(_BEGINNINGS) - {"IN_THIS_WAY"}
"""The grammar's kinds of words that go on until the next sign."""

_HARMLESS = {
    kind: WhenNeeded("|".join(f"(?:{one})" for one in (*_BEGINNINGS.get(kind, ()), *_PLACES)))
    for kind in OPEN
}
_BOUND_OFF = WhenNeeded(
    r"(?<![a-z])(?:hold(?:er)?s?|leav\w*|unworked|turn|next row|place|put (?!on))(?![a-z])"
)


def work_in(kind: str, text: str) -> re.Match[str] | None:
    """
    Return the first word of work in open-ended words; None where they hold none.

    `kind` is the grammar's name for the words, `text` is in small letters.
    """
    if kind == "PICOT_OFF":  # however it is done, all stitches are bound off
        return _BOUND_OFF.search(text)
    blanked = _HARMLESS[kind].blanked(text)
    return _DOING.search(blanked)
