"""
What may be set aside: nothing that names a stitch, an amount, a row, a side or a needle.

The grammar lets some words swallow others up to the next sign ("change to ...", "for the ...").
Here is the one law over all of them: whatever live word a remark holds must belong to one of the
few forms below, each of which changes no stitch or is understood later on ("draw through rem 8
sts" is counted by `live_afterwards`). Anything else would be lost without a word, and is refused.
"""

from __future__ import annotations

import re

from engine.pattern.prose import is_prose
from engine.pattern.when_needed import WhenNeeded

SETTING_ASIDE = frozenset(("REMARK", "FOR_WHAT", "CAST_ON_FREED", "LEAD", "LEAD_NAME"))
"""The words of the grammar whose text is kept and not worked."""

NUMBER_WORDS = (
    "one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen"
    "|sixteen|seventeen|eighteen|nineteen|twenty|thirty|forty|fifty|once|twice|thrice|half|pair"
)
LIVE = WhenNeeded(
    r"\d|(?<![a-z])(?:"
    r"(?:st|loop|row|rnd|round|needle|dpn|ridge|edge|end|side|stitche|time|repeat|marker|tuck)s?"
    r"|stitch|rs|ws|right|wrong|each|both|every|alt|alternate|foll|following|last|next|first"
    r"|[kp]|knit(?:ting)?|purl(?:ing)?|[kp]\d\w*|tog(?:ether)?|ssk|ssp|skp|psso|yo|yrn|yfwd|[kp]fb"
    r"|m1\w*|make|making|inc\w*|dec(?!orat)\w*|bind\w*|bound|cast\w*|co|bo|pick\w*|slip\w*"
    r"|sl|turn\w*"
    r"|wrap\w*|hold(?:s|er|ers)?|omit\w*|skip\w*|drop\w*|work(?:ing|ed)?|rep|repeating|evenly"
    r"|leave|leaving|place|placing|put|transfer\w*|return\w*|unworked|waste|spare|join\w*"
    r"|rejoin\w*"
    rf"|{NUMBER_WORDS})(?![a-z])"
)
"""Words that name a stitch, an amount, a row, a side or a needle, or what is done to one."""

_AMOUNT = r"\d+(?: ?[(\[{][\d ,:;/|-]+[)\]}])?"
_LENGTH = (
    r"(?:\d+(?:\.\d+)?)?(?: ?\d+/\d+| ?[¼½¾⅓⅔⅛⅜⅝⅞])?[ -]?(?:\"|(?:mm|cms?|ins?|inch(?:es)?"
    r"|yds?|yards?"
    r"|m|met(?:re|er)s?)(?![a-z]))\.?"
)
_THE = (
    r"(?:(?:the|a|an|all|your|both|of|these|those|two|2|rem(?:aining)?\.?|live|open|last"
    r"|final) )*"
)
_STS = r"(?:sts?|stitch(?:es)?|loops?)(?![a-z])"
_DECREASE = r"(?:ssk|ssp|skp|[kp]2tog|sk2p|s2kp|cdd|m1[lrp]?|kfb|pfb|yo)(?![a-z0-9])"
_NAMES = (
    # stitch patterns, ways to cast on and off, yarns and tools by their names
    r"kitchener st(?:itch)?",
    r"(?:st(?:ocking|ockinette)?|garter|moss|seed|g) ?(?:st|stitch)(?![a-z])",
    (
        r"(?:a |an |the |your |one of the )*(?:(?:provisional|circular|closed|long[- ]tail"
        r"|cable|knitted"
        r"|crochet(?:ed)?|tubular|backward[- ]loop|thumb|picot|i[- ]?cord|sewn|stretchy|elastic"
        r"|loose|toe[- ]up"
        r"|three[- ]needle|3[- ]needle|turkish|judy's magic|very|favou?rite|waste yarn) )+"
        r"(?:(?:cast|bind)[- ](?:on|off)(?: method)?(?: edge)?|method)(?![a-z])"
    ),
    r"three[- ]needle (?:bind|cast)[- ]off",
    r"(?<=cast[- ]on) and divide (?:evenly )?(?:over|onto) \d (?:needles|dpns)(?![a-z])",
    r"backward loop(?: method)?",
    r"(?:contrast(?:ing)? |smooth )?(?:waste|scrap) yarn",
    r"picot (?:edge|row|rnd|round)(?![a-z])|cast[- ]on edge",
    (
        rf"(?:(?:the|larger|smaller|longer|shorter|main|circular|straight|double[- ]pointed|size"
        rf"|(?:us|no|nr|uk)\.? ?\d+(?:\.\d+)?|{_LENGTH}|\d+(?:\.\d+)?(?= needles?)|three|four"
        rf"|five|\d(?= dpns)) )*"
        r"(?:needles?(?! ?\d)|dpns?)(?![a-z])"
    ),
    r"(?:us|no|nr|uk|size)\.? ?\d+(?:\.\d+)?(?! ?(?:sts?|stitch))",
)
_TAILS = (
    (
        rf"leav(?:e|ing) (?:a|an|enough|about|approx\.?)[a-z ]*?(?:{_LENGTH} )?(?:long )?"
        r"(?:tail|end|length|yarn)(?: (?:of|for) [a-z ]+)?"
    ),
    # counted, and compared, by `live_afterwards` and `grafting`
    rf"through {_THE}(?:{_AMOUNT} )?(?:live )?{_STS}(?: twice)?",
    rf"fasten(?:ing)? off {_THE}{_STS}",
    r"(?:and )?weav(?:e|ing) in (?:the |all |any |your )*(?:loose |yarn )*ends",
    (
        rf"(?:graft(?:ing)?|kitchener)(?: or (?:bo|(?:bind|cast)[ -]off))? {_THE}"
        rf"(?:(?:sets|groups) of )?(?:{_AMOUNT} )?(?:live )?{_STS}(?: tog(?:ether)?)?"
    ),
    r"graft(?:ing)? (?:the )?(?:two |both )?(?:underarm (?:sts|stitches)|underarms?)",
    r"graft(?:ing)? (?:the )?(?:toe|tip|top|ends)(?: tog(?:ether)?)?",
)
_WORKED_ON = (
    (
        r"^(?:work|cont|proceed|comple[t])\w* (?:(?:the )?(?:heel flap|heel|flap|thumb|tab) )?"
        r"(?:back and forth )?(?:in rows )?(?:only )?(?:on|over|with) (?:only )?"
        r"(?:(?:these|those|this|the|just) )*"
        r"(?:(?:first|last|next|rem|remaining|set of|one|left|right) )*"
        rf"(?:{_AMOUNT} )?(?:neck |front |back |shoulder |live )*(?:sts|stitches|side|set"
        rf"|half)(?![a-z])"
        r"(?: of (?:the )?(?:sts|stitches|neck|work|[a-z]+ front|front|back))?"
        r"(?: only| first| for (?:the )?(?!inc|dec)[a-z ]+)*"
    ),
    (
        r"^work(?:ing)? (?:the |this |each |one |first |left |right )+(?:side|half|shoulder|front)"
        r"(?: of (?:the )?neck)?(?: only| first| separately)+"
    ),
    (
        r"^working both sides(?: at (?:once|(?:the )?same time)| simultaneously)?"
        r"(?: with (?:separate|two|2) balls(?: of (?:yarn|wool))?)?$"
    ),
    r"^work both sides (?:at once|at the same time|simultaneously)$",
    (
        r"^complet(?:e|ing) (?:this|one|first|the first|right|left) side(?: of (?:the )?neck)?"
        r"(?: first| only)?$"
    ),
)
_PLACES = (
    (
        r"^do not (?:turn(?: after the last row| or (?:break|cut|fasten off)(?: the)?(?: yarn)?)?"
        r"|bo|(?:bind|cast) off)$|^set aside$"
    ),
    r"^run (?:a |the )[a-z ]+(?:through|along)[a-z ]*(?: (?:row|rnd) \d+)?$",
    r"^[(\[]\d+ (?:sts? )?(?:per|(?:for|from|on|along|in) each) [a-z]+[)\]]$",
    (
        rf"^[(\[](?:the )?last {_AMOUNT} (?:sts )?of this rnd and (?:the )?first {_AMOUNT} "
        r"(?:sts )?of (?:the )?next(?: rnd)?[)\]]$"
    ),
    r"^all (?:the )?sts (?:have (?:now )?been|are(?: now)?) worked$",
    rf"^[(\[]{_AMOUNT} sts? (?:(?:left|rem) )?unworked(?: at (?:each|the other) end)?[)\]]$",
    (
        r"^(?:make|knit|work) (?:a |an |the )?(?:second|other|another)(?: [a-z]+)? (?:the same"
        r"(?: way)?|to match|alike|in the same way)$"
    ),
    (
        r"^(?:rotate|turn) (?:the )?(?:(?:work|piece) )?(?:90|180)(?:°| degrees)?"
        r"(?: (?:anti|counter)?-?clockwise)?$"
    ),
    r"^(?:rotate|turn) (?:the )?work (?:a quarter turn|upside down|clockwise)$|^rotate$",
    r"(?:beg(?:inning)?|start|end) of (?:the )?(?:rnd|round)(?![a-z])",
    r"^mark(?:ing)? (?:the |this |a )*(?:cent(?:er|re) )?(?:st|stitch)(?: with [a-z ]+)?$",
    r"^mark (?:each|both) ends? of (?:the |this )?(?:last |next |same )?row",
    (
        r"^(?:plac(?:e|ing)|put) (?:a |coloured |removable )*markers? at (?:each|both) ends? of "
        r"(?:the |this |that )?(?:last |next |same )?(?:row|edge)"
    ),
    r"^slipping (?:the |all |each )*markers?(?: as you (?:come to|reach) them)?$",
    (
        r"^(?:with )?(?:rs|ws|right sides?|wrong sides?)(?: of [a-z ]+?)? (?:held )?"
        r"(?:tog(?:ether)?|facing(?: each other)?)$"
    ),
    r"^[(\[](?:rs|ws)(?: row)?[)\]]$|^(?:wrong|right) side$",
    (
        r"^(?:slide|push|slip) (?:the )?sts (?:back )?to (?:the )?(?:other|opposite|right|left)"
        r"(?: hand)? (?:end(?: of (?:the )?needle)?|needle)$"
    ),
    r"^keep(?:ing)? (?:the )?(?:armhole|neck|front|side|edge) ?edges? (?:straight|even|correct)$",
    r"^keep(?:ing)? (?:the )?(?:bands?|borders?|edges?) in (?:garter|moss|seed|rib) ?(?:st)?$",
    (
        r"^(?:keep|maintain)(?:ing)? (?:the )?(?:continuity(?: of (?:the )?patt(?:ern)?)?"
        r"|(?:st )?patt(?:ern)?)(?: correct| throughout| as (?:set|est[a-z]*))?$"
    ),
    (
        rf"^(?:inside|within) (?:of )?(?:the )?(?:\d|a|one|two|three)(?:[ -]st(?:itch)?)? "
        rf"(?:edge |border |selvedge |garter )*(?:{_STS}|edge|border)$"
    ),
    r"^(?:\d|one|two|three) sts? in from (?:the )?(?:each |both )?edges?$",
    r"^(?:from|onto|to) (?:needle|ndl|n) ?\d+$|^[(\[](?:needle|n) ?\d[)\]]$",
    (
        r"^(?:knit|k|work|slip|sl) (?:the )?(?:next |first |last )?\d+ (?:\([^()]*\) )?"
        r"(?:sts |stitches )?(?:from|of) (?:needle|ndl|n) ?\d (?:on)?to (?:needle|ndl|n) ?\d$"
    ),
    (
        r"^for (?:the )?(?:(?:left|right|first|second|other|each|next|edge|side|end) ?)+"
        r"(?:(?:sleeve|front|back|thumb|heel|edge|side)s? ?)?(?:of (?:the )?[a-z]+)?$"
    ),
    r"^(?:includ\w+|[(\[]incl\w*) (?:the )?(?:st|stitch|one|loop)[^,;.:\d]*$",
    (
        r"^with (?:the |this )?(?:(?:rem(?:aining)?|last|one|1|these|live)\.? )+(?:sts?"
        r"|stitch(?:es)?) "
        r"(?:still |left )*on (?:the |your |right |rh |same )*needle$"
    ),
    (
        r"^[(\[](?:there is )?(?:1|one) (?:st|stitch) (?:(?:rem\w*|left|is|now"
        r"|already) )*on (?:the )?"
        r"(?:right|rh)(?:[- ]hand)? needle[^()\[\]\d]*[)\]]$"
    ),
    (
        r"^(?:put|set|lay) (?:the |this |first |second )*[a-z]+ aside(?:[;,]? ?(?:and |then )*"
        r"(?:knit|work|make) (?:the )?(?:other|second|first|next)?(?: ?(?:one|sleeves?|body"
        r"|front|back"
        r"|thumb|piece|mitten))?(?: in the same way)?)?$"
    ),
    r"^fold(?:ing)? in half$|^in (?:their|its) place$|^shap(?:e|ing) (?:the )?sides?(?: by)?$",
    (
        r"^(?:beg|start)\w* (?:at|from) (?:the )?(?:left|right|cent(?:er|re)) (?:back |front )?"
        r"(?:shoulder|underarm|armhole|seam|corner|edge|neck)[a-z ]*?$"
    ),
    (
        r"^[(\[](?:(?:left|right|first|second|turning|fold) )+(?:front|back|side|sleeve|ridge"
        r"|edge|row)[)\]]$"
    ),
    (
        r"^fold (?:the )?[a-z]+ (?:in half )?(?:with ws tog|to (?:the )?(?:ws|wrong side)"
        r"|with wrong sides tog(?:ether)?)?"
    ),
)
_MANNERS = (
    rf"^using {_DECREASE}(?: at beg(?:inning)?)?(?: and {_DECREASE}(?: at end)?)?$",
    r"^working each (?:ds|double st(?:itch)?) as (?:one|1) (?:st|stitch)$",
    (
        r"^(?:wrapping|winding|throwing) (?:the )?(?:yarn|wool|thread) (?:twice|three times"
        r"|\d times|\d x)"
        r"(?: (?:around|round) (?:the )?needle)?(?: for each st(?:itch)?)?$"
    ),
    (
        r"^(?:dropping|letting|allowing)(?: off)? (?:the |all )*(?:extra |double |elongated )*"
        r"(?:wraps|loops)(?: drop)?(?: off)?$"
    ),
    (
        r"^taking (?:the )?(?:extra|new|inc(?:reased|'d)?)? ?(?:sts|stitches) (?:in"
        r"|into) patt(?:ern)?$"
    ),
    r"^working (?:them|these|(?:the )?new sts|all (?:the )?sts) (?:in|into) (?:patt(?:ern)?|rib)$",
    r"^(?:the )?(?:rnd|round)s? (?:now )?(?:begins?|starts?) (?:at|in|from) (?:the )?[a-z ]+$",
    (
        r"^(?:work (?:the |this )?)?(?:(?:bind|cast)[ -]off|dec(?:rease)?|inc(?:rease)?)"
        r"(?: (?:row|rnd|round))? as foll(?:ow(?:s|ing)?)?:?$"
    ),
    r"^work(?:ing)?(?: (?:in|with|using) [a-z ]+)? as foll(?:ow(?:s|ing)?)?:?$",
    (
        r"^(?:cont(?:inue|inuing)?|keep|proceed)? ?(?:on )?(?:work(?:ing)?|knit(?:ting)?) "
        r"(?:flat|back and forth)(?:,? (?:and )?(?:turning (?:the )?work|in rows(?: of)?"
        r"|as usual|now))*$"
    ),
    r"^work(?:ing)?$|^work(?:ing)? (?=with|in|using)",
    # what an abbreviation just said means, in brackets behind it
    (
        r"^[(\[](?:by |incl\w* )?(?:mak(?:e|ing)|yarn|wool|slip(?:ping)?,? (?:slip|knit)"
        r"|lift(?:ing)?"
        r"|pick(?:ing)? up (?:the )?(?:bar|loop|strand)|pass|bring|wrap|knit(?:ting)? (?:in"
        r"|front|the|both"
        r"|two|through)|purl(?:ing)? (?:in|the|two|through))"
        r"(?!(?:[^()\[\]]*(?<![a-z])(?:row|rows|rnd|across|evenly|every|each|times|end|next"
        r"|last|first"
        r"|three|four|five|six|\d)(?![a-z])))[^()\[\]]*[)\]]$"
    ),
    r"^[(\[](?:(?:inc|dec)(?:rease)?|one stitch (?:in|de)creased)(?: made| worked)?[)\]]$",
    (
        r"^[(\[](?:make one|knit every (?:row|rnd|round)|neck edge|armhole edge|edge"
        r"|stocking stitch)[)\]]$"
    ),
    (
        r"^[(\[](?:(?:edge|selvedge|selvage|border|band|garter|steek|buttonhole|front|neck|center"
        r"|middle|spine|button|seam) ?)+"
        rf"{_STS}[)\]]$"
    ),
    r"^[(\[]this is the (?:(?:wrong|right) side|rs|ws)[)\]]$",
    r"^[(\[]= (?:beg|end) of (?:rnd|round)[)\]]$",
    (
        r"^[(\[](?:k|knit)(?:ting)? (?:(?:on|the|all|every) )*(?:rs|right side)(?: rows?)?,? "
        r"(?:and )?(?:p|purl)(?:ing)? (?:(?:on|the|all|every) )*(?:ws|wrong side)(?: rows?)?[)\]]$"
    ),
    r"^[(\[](?:every (?:row|rnd) (?:k|knit)|(?:k|knit) every (?:row|rnd))[)\]]$",
    (
        r"^(?:the )?(?:rnd|bor|beg of (?:the )?rnd) (?:marker|m) (?:is|counts as) the "
        r"(?:last|third|fourth|4th|sixth|eighth) (?:marker|m|one)$"
    ),
    # how many rows that is, behind the rows themselves; one stitch for each ridge, at a pick-up
    (
        r"^[(\[]\d+ (?:garter )?(?:ridges?|rows|rnds|rounds)(?: on (?:the )?(?:rs|right side))?"
        r"(?:,? counting (?:the )?cast-on)?[)\]]$"
    ),
    r"^(?:drop|add|join)(?:ping|ing)? (?:one|a|the|second|2nd|other) strand$",
    r"(?:2|two|3|three|both) strands(?: of [a-z]+)?(?: held)?(?: tog(?:ether)?| as one)?",
    (
        r"^[(\[]?(?:one|1)(?: (?:st|stitch))? (?:in|for|from|into|at) (?:each|every) (?:garter "
        r"|purl |edge "
        r"|slipped )*(?:ridges?|rows?|bumps?|chains?|loops?|slipped sts?|slipped stitch)[)\]]?$"
    ),
    rf"^,? ?or (?:about |approx\.? )?(?:{_LENGTH} )(?:less|shorter|longer|more|short|before) .*$",
)
_NOTES = (
    (
        r"^these (?:\d+|two|three|four|six|eight|ten|twelve) (?:rows|rnds|rounds) (?:forms?|sets?"
        r"|makes?|establish(?:es)?)"
        r" (?:the )?[a-z ]+(?:, with \d+ (?:\([\d, -]+\) )?sts in [a-z ]+ at (?:each|both) "
        r"(?:ends?|sides?|edges?))?$|^(?:this|last) (?:row|rnd|round) (?:forms?|sets?|establishes) "
        r"[a-z ]+$"
    ),
    # compared with the stitches that are there by `live_afterwards`
    rf"^(?:these|last) {_AMOUNT} (?:sts|stitches) (?:form|make) (?:the )?[a-z ]+$",
    (
        rf"^(?:the )?[a-z]+ (?:is|are) worked (?:back and forth"
        rf"|in short rows) over (?:the )?first {_AMOUNT} "
        r"(?:sts|stitches)$"
    ),
    r"^note ?: ?this row (?:in|de)c(?:rease)?s$",
    r"^note ?: ?change to dpns when sts no longer fit[a-z ]*$",
    r"^note ?:[^\d]*(?:dye|lot|colou?r)[^\d]*$",
)
_ARRANGED = (
    (
        r"^(?:(?:re)?arrange|divide|(?:re)?distribute|split) (?:the |all |these |rem |remaining )*"
        rf"(?:(?:{_AMOUNT} )?(?:sts|stitches) )?(?:evenly )?(?:over|on|onto|between|among|for) .*$"
    ),
    rf"^{_AMOUNT} (?:sts? )?on (?:each of (?:the )?[a-z0-9]+ needles|each needle|needle \d)$",
    (
        r"^half (?:of )?(?:the )?(?:(?:sts|stitches) )?on (?:each|either|one)"
        r"(?: of (?:the )?(?:two|2))?(?: needles?)?$"
    ),
)
_LIVE_ARRANGED = WhenNeeded(
    r"(?<![a-z])(?:k|p|[kp]\d\w*|knit|purl|bind|cast|bo|co|inc\w*|dec\w*|pick|plac\w*|put|leav\w*"
    r"|slip\w*|turn|hold\w*|by)(?![a-z])"
)
_FINISHING = WhenNeeded(
    r"^(?:carefully )?(?:try on|block|press|soak|wash|steam|sew|seam|set in|weave|insert|attach"
    r"|embroider|weigh|pull|draw|thread|join (?:the |both |front and back |left |right |side "
    r"|raglan |underarm |armhole |three |two |all )*(?:shoulder|seam|side|underarm)"
    r"|stuff|fill|run a |remov|unravel|undo|unpick|unzip|break|cut"
    r"|join(?:ing)? (?:in )?[\ue500-\ue5ff])"
)
_LIVE_FINISHING = WhenNeeded(
    r"\d|(?<![a-z])(?:sts?|stitch(?:es)?|rows?|rnds?|k|p|knit|purl|tog|inc\w*|dec\w*|bind"
    r"|cast|bo|co"
    r"|pick\w*|slip\w*|sl|turn\w*|hold\w*|leav\w*|place|placing|put|work\w*|unworked|every"
    rf"|{NUMBER_WORDS})(?![a-z])"
)
"""A seam has ends, edges and two sides: these are no live words when a piece is made up."""

_FREED = WhenNeeded(
    r"^(?:carefully )?(?:unzip|undo|unpick|unravel|remov|releas)\w* (?:the )?"
    r"(?:provisional |waste yarn |crochet )+(?:cast[ -]on)?(?: edge| chain"
    r"| yarn)?[;,]? ?(?:and )?"
    r"(?:then )?(?:(?:plac|put|slip|transfer|return)[a-z]* (?:the |these |those |all "
    r"|resulting |live )*"
    rf"(?:{_AMOUNT} )?(?:live )?(?:sts|stitches|loops) (?:back )?(?:on|onto|to)"
    r"(?: (?:a|the|another|second|spare|smaller|extra|free|set of))* (?:needles?|dpns?))?"
)
_CONDITION = WhenNeeded(
    r"(?<![a-z])(?:only|sizes?|except\w*|unless|if|not|otherwise|optional)(?![a-z])"
)
"""In brackets beside a stitch these say when it is worked: "m1 (second size only)"."""
_HARMLESS = WhenNeeded(
    "|".join(
        f"(?:{one})"
        for one in (*_WORKED_ON, *_PLACES, *_MANNERS, *_NOTES, *_TAILS, *_NAMES, _FREED.pattern)
    )
)
_ARRANGING = WhenNeeded("|".join(f"(?:{one})" for one in _ARRANGED))
_HEADING = WhenNeeded(
    r"^\s*(?:step|stage)? ?\d+[.:)]*$"
    r"|^\s*(?:(?:divide|divided|arrange) (?:the )?(?:sts|stitches) for |shap\w* )?(?:the )?"
    r"(?!with |using |on |at )[a-z ',/&-]*:?$|^[\s*†‡]*:?$"
    r"|^\s*(?!cont|work|keep)[a-z]+ \d{1,2}:$"
)
_LIVE_HEADING = WhenNeeded(
    r"(?<![a-z])(?:k|p|purl|tog|inc|dec|bo|co|cast (?:on|off)|bind off|pick(?:ing)? up"
    r"|omit\w*|every"
    r"|hold(?:er)?|placing|leaving|slip\w*|evenly|unworked)(?![a-z])"
)


def live_word(kind: str, text: str) -> re.Match[str] | None:
    """
    Return the first live word in what the grammar would set aside; None where none is lost.

    `kind` is the grammar's name for the text, `text` is in small letters.
    """
    words = text.rstrip(" .,;:-") if kind == "REMARK" else text.strip()
    if kind in {"LEAD", "LEAD_NAME"} and _HEADING.fullmatch(words.rstrip(" :") + ":") is not None:
        return _LIVE_HEADING.search(text) if _as_follows(words) is None else None
    if _ARRANGING.fullmatch(words.strip()) is not None:
        return _LIVE_ARRANGED.search(text)
    begun = len(text) - len(text.lstrip())
    if words[begun : begun + 1] in {"(", "["} and (found := _CONDITION.search(text)) is not None:
        return found
    blanked = text[:begun] + _HARMLESS.blanked(words[begun:])
    live = _LIVE_FINISHING if _FINISHING.match(words[begun:]) is not None else LIVE
    return live.search(blanked)


def all_harmless(clause: str) -> bool:
    """Whether a clause is one of the forms above, and what is left of it plain words."""
    words = clause.strip(" .,;:-")
    if not words or (words[0].isdigit() and _ARRANGING.fullmatch(words) is None):
        return False
    if live_word("REMARK", words) is not None:
        return False
    finishing = _FINISHING.match(words) is not None and not words.startswith("join")
    if _ARRANGING.fullmatch(words) is not None or finishing:
        return True
    rest = _HARMLESS.blanked(words).replace("\0", " ")
    return rest != words and (not rest.strip(" ,") or is_prose(rest))


def _as_follows(words: str) -> re.Match[str] | None:
    return re.search(_MANNERS[6], words.rstrip(" :"))
