"""
Where one clause of a sentence ends and the next begins.

Free words ("change to larger needles") end where work begins, and designers often set no comma
there: "change to larger needles and knit 1 row". A sign is put in, at the same length, so that the
grammar need not know where free words end. Dots of abbreviations ("K.1, rep. from *") are blanks.
"""

from __future__ import annotations

import re

_WORK = (
    r"knit(?! (?:it|them|both|(?:all )?(?:the )?k(?:nit)?s?\b))"
    r"|purl(?! (?:it|them|both|(?:all )?(?:the )?p(?:url)?s?\b))"
    r"|[kp](?= ?\d| to | all | every|[.,;]|$)|work|cont|continue|bo|bind|co|cast|dec|decrease|inc"
    r"|increase|rep|repeat|place|pm|slip|sl|beg|begin|turn|join|rejoin|complete|graft|leave|put"
    r"|change|break|cut|pick|ss[kp]|sssk|s?k2?po?|s2kp2?|[kp]f?fb|m(?:ake )?[1l][lrp]?|yo|mb|rib"
    r"|patt"
)
_NOT_AFTER = "".join(
    f"(?<!{words})"
    for words in ("pick up", "picking up", "pu", "wrap", "front", "back", "wraps", "to", "reverse")
)
_AND = re.compile(rf"{_NOT_AFTER} (?=(?:and|then|&) (?:then )?(?:(?:{_WORK})(?![a-z])|[*(\[]))")
# "using ssk and k2tog" names stitches, it works none of them.
_HOW = re.compile(
    r"using (?:an? |the )?(?:ss[kp]|skp|k2 ?tog|p2 ?tog|m1\w?|[kp]fb)(?: [a-z ]+)?;(?=and "
    r"(?:ss[kp]|skp|k2 ?tog|p2 ?tog|m1\w?|[kp]fb))"
)
_ACT = (
    r"[kp] ?\d|(?:knit|purl) (?:\d|all|to|across|every|each|one|two|three|four|five|six)"
    r"|b\.?o\.? \d|(?:bind|cast) off (?:\d|all|rem)|pick up|(?:dec|inc)(?:rease)? \d"
    r"|(?:co|cast on) \d|work (?:\d|even|in (?:st|garter|k ?\d|p ?\d|patt|rib))|beg(?:inning)? with"
    r"|(?:[kp]|sl|rib|patt) (?:to|all|every|each|across)(?![a-z])"
    r"|(?:ss[kp]|skp|[kp]fb|yo|m1)(?![a-z])|\*|[(\[](?:[kp] ?\d|k2|yo|ss|sl)"
)
_FREE = re.compile(
    r"(?:(?<=^)|(?<=[,;.:] )|(?<=[,;.:])|(?<=and )|(?<=then ))(?:using|with|chang(?:e|ing) to"
    r"|switch(?:ing)? to|break|cut|join|rejoin|attach)(?! (?:ss[kp]|skp|[kp]fb|yo|m1)(?![a-z]))"
    r"(?![a-z])(?:[^,;.:*()]|\.(?=\d)){0,80}?"
    rf"(?P<end> )(?={_ACT})"
)
_ROWS_IN_BRACKETS = re.compile(
    r"((?:rep(?:eat)?(?:ing)?\.?|work)(?: the)? )"
    r"[(\[]((?:last )?(?:\d+ )?(?:rows?|rnds?|rounds?)[\da-z ,&-]*)[)\]]"
)
"""Like "Rep [Rows 1 and 2] twice": the brackets say nothing more."""
_DOTTED = re.compile(
    # before a number too: "K.1", "rep. 3 times"
    r"(?<![A-Za-z])(?i:cont|beg|foll|rep|rem|inc|dec|approx|no|[kp]|sl|rev|twds|opp|altog)"
    r"\.(?=\s*[a-z0-9*(\[,;:\"-])"
    # what may end a sentence, before small letters only: "to last st., k1"
    r"|(?<![A-Za-z])(?i:alt|patts?|sts?|tog|rnds?|est|incl|cms?|mm|yds?)\.(?=\s*[a-z,;:\"])"
    r"|(?<=[0-9\u00bc-\u00be\u2150-\u215e])(?i: ?ins?)\.(?=\s*[a-z,;:(])"
)
_BACK = re.compile(r"(?i:\by\.?bk?\b|(?:yarn|wool) (?:to (?:the )?)?back)")
_SLIPPED = r"(?:sl(?:ip)?|s|p(?:url)?) ?(?:next )?\d*(?: (?:sts?|stitch(?:es)?|p\w*wise|k\w*wise))*"
_TO_BACK = r"(?:yb|ybk|(?:take |bring )?(?:the )?(?:yarn|wool) (?:to (?:the )?)?back)\b"
_TO_FRONT = (
    r"(?:yf|yfwd|yft|(?:bring )?(?:the )?(?:yarn|wool) (?:to (?:the )?)?(?:front|forward|fwd))\b"
)
_FRONT_BEFORE = re.compile(
    rf"(?i:\b{_TO_FRONT}(?=,? (?:and )?{_SLIPPED}(?:,? {_SLIPPED})?,? (?:and )?{_TO_BACK}))"
)
_FRONT_AFTER = re.compile(rf"(?i:(\b{_TO_BACK},? (?:and )?{_SLIPPED},? (?:and )?)({_TO_FRONT}))")
# "wyif. 41 sts": the dot ends the sentence, and what follows is a count
_COUNT_AFTER = re.compile(
    r"\. (?=\d[\d\s()\[\],:;/-]*(?i:st|sts|stitch|stitches|loops)(?![A-Za-z]))"
)
_PSSO = re.compile(r"(?i:p\.s\.s\.o\.?)")
_STOCKING = re.compile(r"(?<![A-Za-z])(?i:st)(\.?-)(?=(?i:st)(?![A-Za-z]))")


def without_dots(text: str) -> str:
    """Return a line without the dots of abbreviations, as long as before."""
    if "." not in text and "-" not in text:
        return text
    text = _PSSO.sub(lambda found: "psso".ljust(len(found.group())), text)
    text = _STOCKING.sub(lambda found: found.group()[:2] + " " * len(found.group(1)), text)
    text = _DOTTED.sub(lambda found: f"{found.group()[:-1]} ", text)
    return _COUNT_AFTER.sub(".;", text)


def yarn_moved(text: str) -> str:
    """
    Return a line, as long as before, in which "yf" beside a slipped stitch is no yarn over.

    "Yf, sl 1, yb" and "yb, sl 1, yf" bring the yarn to the front and back; a "yf" before a knit
    stitch is a yarn over, as it is in British patterns.
    """
    if _BACK.search(text) is None:
        return text
    text = _FRONT_BEFORE.sub(lambda found: "yb".ljust(len(found.group())), text)
    return _FRONT_AFTER.sub(lambda found: f"{found[1]}{'yb'.ljust(len(found[2]))}", text)


def parted(text: str) -> str:
    """Return a line in small letters with ";" where work follows free words, as long as before."""
    if "[r" in text or "(r" in text or "[last" in text or "(last" in text:
        text = _ROWS_IN_BRACKETS.sub(lambda found: f"{found[1]} {found[2]} ", text)
    if " and " in text or " then " in text or " & " in text:
        text = _AND.sub(";", text)
        if "using " in text:
            text = _HOW.sub(lambda found: f"{found.group()[:-1]} ", text)
    found = _FREE.search(text)
    while found is not None:
        text = f"{text[: found.start('end')]};{text[found.end('end') :]}"
        found = _FREE.search(text)
    return text
