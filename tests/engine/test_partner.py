"""The partner piece: its rows are the target, part by part, and the two are compared."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine import commands, events
from engine.evolve import partner_of
from engine.fabric import Fabric
from engine.facts.distance import LongEnough, RowsExactly, distance
from engine.facts.partner import partner_events
from engine.facts.swatches import gauges
from engine.judging.decide import decide
from engine.judging.decision import Accepted, Refused
from engine.quantities import centimetres
from engine.replies import Say
from tests.engine.at_the_swatch import Work, sleeve

if TYPE_CHECKING:
    from engine.talk import Talk


def first() -> Work:
    """Return the first sleeve: 112 rows to the end of the body, measured twice, finished."""
    work = Work(sleeve()).knits(4)
    work.knits(60).measures("21.4").knits(112).measures("40")
    work.happens(events.LoopEnded("body", 112))
    return work.knits(114).happens(events.PieceFinished(114))


def second() -> Work:
    """Return the second sleeve, begun as its partner."""
    done = first()
    return Work(sleeve()).happens(*partner_events(done.state, done.course))


def test_what_is_kept_of_a_partner() -> None:
    """Its name, its rows in the part worked to a length, and its last length."""
    done = first()
    named, part, measured = partner_events(done.state, done.course, mirrored=True)
    assert named == events.PartnerNamed(done.state.piece, "sleeve", 114, True, True)  # noqa: FBT003
    assert part == events.PartnerPartKnitted("body", 108, 112, ended=True)
    assert measured == events.PartnerMeasured(112, centimetres(40), Fabric.ON_NEEDLE)


def test_a_partner_under_way_is_kept_as_far_as_it_is() -> None:
    """Two at once: the part of the first that is still being worked is no target yet."""
    work = Work(sleeve()).knits(4).knits(30)
    _, part = partner_events(work.state, work.course)
    assert part == events.PartnerPartKnitted("body", 26, 30, ended=False)
    other = Work(sleeve()).happens(*partner_events(work.state, work.course)).knits(4).knits(20)
    assert not isinstance(distance(other.state, other.course), RowsExactly)
    (only,) = other.says(commands.SameAsPartner())
    assert (only.say, only.value("rows")) == (Say.SAME_ROWS_LEFT, 10)


def test_the_target_is_the_partners_rows() -> None:
    """Not 38 cm but 108 rows in the body, however it measures."""
    work = second().knits(4).knits(110).measures("45")
    assert distance(work.state, work.course) == RowsExactly(2, partner=True)
    (only,) = work.says(commands.HowFar())
    assert (only.say, only.value("rows")) == (Say.ROWS_LEFT_EXACTLY, 2)
    work.knits(112)
    assert distance(work.state, work.course) == LongEnough()


def test_same_as_the_first_is_two_rows_longer() -> None:
    """What is missing, that it is the same, and what is too much: each in rows."""
    work = second().knits(4).knits(110)
    (only,) = work.says(commands.SameAsPartner())
    assert (only.say, only.value("rows"), only.value("title")) == (Say.SAME_ROWS_LEFT, 2, "sleeve")
    assert work.knits(112).says(commands.SameAsPartner())[0].say is Say.SAME_NOW
    (only,) = work.knits(115).says(commands.SameAsPartner())
    assert (only.say, only.value("by")) == (Say.SAME_OVER, 3)


def test_in_a_later_part_the_parts_that_are_done_are_compared() -> None:
    """A body that was ended two rows early is two rows fewer than the first's."""
    work = second().knits(4).knits(110).happens(events.LoopEnded("body", 110))
    (only,) = work.says(commands.SameAsPartner())
    assert (only.say, only.value("by")) == (Say.SAME_SHORT, 2)


def test_a_looser_hand_is_told_as_length() -> None:
    """
    With the same rows it will be longer: said from one centimetre on, beyond 30 cm, with both ends.

    Half of the rows are measured, so half a centimetre between rulers is doubled: 2 cm +- 0.8.
    """
    work = second().knits(4).knits(56).measures("21")
    rows, longer = work.says(commands.SameAsPartner())
    assert rows.say is Say.SAME_ROWS_LEFT
    told = longer.say, longer.value("least"), longer.value("most")
    assert told == (Say.PARTNER_LONGER, centimetres(1), centimetres(3))
    soon = second().knits(4).knits(10).measures("3.8")  # 42.6 cm, if ten rows could tell: +- 4
    assert len(soon.says(commands.SameAsPartner())) == 1
    beyond = second().knits(4).knits(118).measures("42")  # more rows, and longer for it
    assert len(beyond.says(commands.SameAsPartner())) == 1
    same = second().knits(4).knits(56).measures("20.2")
    assert len(same.says(commands.SameAsPartner())) == 1


def test_reaching_the_partners_rows_offers_the_next_part() -> None:
    """With the last of them the next part is one yes away; before and after it is not asked."""
    work = second().knits(4).knits(109)

    def asked(rows: int) -> commands.Command | Talk | None:
        decision = decide(work.state, work.course, [commands.RowsDone(rows)])
        assert isinstance(decision, Accepted)
        return decision.then.yes if decision.then else None

    assert asked(2) is None
    assert asked(3) == commands.PartDone()
    work.knits(112)
    assert asked(1) is None


def test_the_partner_informs_forecasts() -> None:
    """Its rows and length are a gauge known beforehand, narrower than the pattern's."""
    known = {one.source for one in gauges(second().state, sleeve())}
    assert known == {"pattern", "partner sleeve"}


def test_a_partner_without_a_pattern_is_compared_in_all() -> None:
    """A plain piece goes by all rows of its partner, once that is finished."""
    done = Work().knits(40).happens(events.PieceFinished(40))
    work = Work().happens(*partner_events(done.state, done.course)).knits(38)
    assert distance(work.state, work.course) == RowsExactly(2, partner=True)
    decision = decide(work.state, work.course, [commands.RowsDone(2)])
    assert isinstance(decision, Accepted)
    assert decision.then is not None
    assert decision.then.yes == commands.FinishPiece()


def test_without_another_piece_there_is_nothing_to_compare() -> None:
    """It is refused with a reason; with one, it is kept, once."""
    work = Work(sleeve()).knits(4)
    refused = decide(work.state, work.course, [commands.SameAsPartner()])
    assert isinstance(refused, Refused)
    assert refused.reason.say is Say.NO_PARTNER
    done = first()
    known = partner_events(done.state, done.course)
    kept = decide(work.state, work.course, [commands.SameAsPartner()], first=known)
    assert isinstance(kept, Accepted)
    assert kept.events == known
    assert partner_of(known) == work.happens(*known).state.partner
    again = decide(work.state, work.course, [commands.SameAsPartner()], first=known)
    assert again == Accepted(commands.SameAsPartner())


def test_rows_told_across_the_part_before_reach_the_partners_too() -> None:
    """Rows told together that begin in the rib and end with the partner's body are asked about."""
    work = second().knits(2)
    decision = decide(work.state, work.course, [commands.RowsDone(110)], confirmed=True)
    assert isinstance(decision, Accepted)
    assert decision.then is not None
    assert decision.then.asks.say is Say.ASK_PART_DONE
