"""
What Walesong answers, as values; the words are in the phrase data.

An answer is a tone, or a tone with a few words. The three tones are: heard; not heard; the next
row is different. A `Say` is one thing that can be said; its wording has exactly the values named
beside it as placeholders.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.pattern import Instruction
    from engine.quantities import Length, Mass
    from engine.show_how import Move


class Tone(StrEnum):
    """The three sounds that are enough."""

    HEARD = "heard"
    NOT_HEARD = "not_heard"
    NEXT_DIFFERS = "next_differs"


class Thing(StrEnum):
    """What can be taken back and put back, besides rows."""

    FINISH = "finish"
    PART_END = "part_end"
    PATTERN = "pattern"
    SWATCH = "swatch"
    HOW_MEASURED = "how_measured"
    MEASUREMENT = "measurement"
    COUNT = "count"
    WEIGHING = "weighing"
    LIFELINE = "lifeline"
    MARKER = "marker"
    BALL = "ball"
    NEEDLE = "needle"
    NOTE = "note"
    FEEL = "feel"
    PARTNER = "partner"
    TOLERANCE = "tolerance"
    PLACE_IN_ROW = "place_in_row"
    ROWS_SAID = "rows_said"
    CAST_ON = "cast_on"


class Say(StrEnum):
    """
    Everything that can be said, each with the names of its values.

    row, rows, stitches, low, high, time, times, count, expected, by, minutes, percent: whole
    numbers; side, since, fabric, thing: their enumerations; length, least, most: Lengths; mass: a
    Mass; instruction: a row or a bit of one; move: a Move; title, place, words: text.
    """

    # after rows
    TICK = "tick"  # nothing but the tone
    ROWS_DONE = "rows_done"  # row
    OTHER_EDGE = "other_edge"
    NEXT_IS = "next_is"  # row, instruction: announced before a row that differs
    COUNT_PLEASE = "count_please"  # count
    LAST_ROW_DONE = "last_row_done"
    PART_BEGINS = "part_begins"  # title
    RIPPED = "ripped"  # row
    OPEN = "open"  # row
    STOPPED = "stopped"  # row, count
    STOPPED_SOMEWHERE = "stopped_somewhere"  # row
    TAKEN_BACK = "taken_back"  # row
    PUT_BACK = "put_back"  # row
    THING_TAKEN_BACK = "thing_taken_back"  # thing
    THING_PUT_BACK = "thing_put_back"  # thing
    PIECE_FINISHED = "piece_finished"  # row
    WELCOME_BACK = "welcome_back"  # title, row, side
    WELCOME_BACK_IN_ROW = "welcome_back_in_row"  # title, row, count
    MIRRORED = "mirrored"  # title
    COUNT_CHANGED = "count_changed"  # row, count, expected: by a changed pattern
    WORK_MISSING = "work_missing"  # count, words: since when
    SET_ASIDE = "set_aside"  # count
    COUNTED_TWICE = "counted_twice"  # row
    SHAPED_LAST = "shaped_last"  # row
    SHAPED_BELOW = "shaped_below"  # row, rows
    # where and what
    WORKING = "working"  # row, side
    ALL_DONE = "all_done"  # row
    INSTRUCTION = "instruction"  # instruction
    ROW_READ = "row_read"  # row, side, instruction
    ROW_READ_OPEN = "row_read_open"  # row, side, instruction: in a part with an open end
    NO_SUCH_ROW = "no_such_row"  # row
    BIT = "bit"  # instruction
    ROW_HAS_NO_MORE = "row_has_no_more"
    ROW_AT_START = "row_at_start"
    ROW_IN_ONE = "row_in_one"
    HOW = "how"  # move: one sentence of what the hands do
    HOW_DONE = "how_done"
    REPEAT = "repeat"  # time, times, row
    REPEAT_OPEN = "repeat_open"  # time, row
    NO_REPEAT = "no_repeat"
    CHANGE_AT = "change_at"  # row
    CHANGE_NOW = "change_now"  # row
    NO_CHANGE = "no_change"
    NO_CHANGE_IN_PART = "no_change_in_part"
    EXPECTED = "expected"  # count
    EXPECTED_UNKNOWN = "expected_unknown"
    # how far
    ROWS_LEFT = "rows_left"  # low, high
    ROWS_LEFT_EXACTLY = "rows_left_exactly"  # rows
    LONG_ENOUGH = "long_enough"
    LONG_ENOUGH_AFTER = "long_enough_after"  # row: the part has to end on its other side
    LONG_BY_NOW = "long_by_now"  # by the reckoning only
    MEASURE_FIRST = "measure_first"
    MEASURE_AGAIN = "measure_again"  # row
    MEASURE_NOW = "measure_now"
    READ_AS = "read_as"  # length, fabric: what the ruler reads at a target that is meant washed
    NO_TARGET = "no_target"
    # how long
    MINUTES_LEFT = "minutes_left"  # low, high
    MINUTES_AT_MOST = "minutes_at_most"  # minutes
    HOURS_LEFT = "hours_left"  # low, high
    PACE_UNKNOWN = "pace_unknown"
    # same again
    SAME_ROWS_LEFT = "same_rows_left"  # rows, title
    SAME_NOT_YET = "same_not_yet"  # rows, title: the partner's
    SAME_NOW = "same_now"  # title
    SAME_OVER = "same_over"  # by, title
    SAME_SHORT = "same_short"  # by, title
    PARTNER_LONGER = "partner_longer"  # least, most
    PARTNER_SHORTER = "partner_shorter"  # least, most
    PARTNER_WIDER = "partner_wider"  # by
    PARTNER_NARROWER = "partner_narrower"  # by
    PARTNER_NEEDLE = "partner_needle"  # words
    PARTNER_LOT = "partner_lot"  # words
    NO_PARTNER = "no_partner"
    ORDER_PIECE_IS = "order_piece_is"  # title, stage
    ORDER_SO_ALREADY = "order_so_already"  # title, stage
    ORDER_TAKEN_BACK = "order_taken_back"
    ASK_ORDER_PIECE = "ask_order_piece"  # title, stage
    ASK_ORDER_BACK = "ask_order_back"  # title, stage
    ASK_ORDER_UNBEGUN = "ask_order_unbegun"  # title, stage
    ASK_ORDER_WET = "ask_order_wet"  # title, stage
    ORDER_NO_PIECE = "order_no_piece"  # count, last
    NO_ORDER = "no_order"
    ORDER_IS = "order_is"  # done, count, packed
    ORDER_READY_WEEKS = "order_ready_weeks"  # low, high
    ORDER_READY_DAYS = "order_ready_days"  # low, high
    ORDER_HOURS_LEFT = "order_hours_left"  # low, high
    ORDER_MAY_BE_DRY = "order_may_be_dry"  # title
    ORDER_NEXT = "order_next"  # title
    ORDER_ALL_BEGUN = "order_all_begun"
    # the swatch, and how the hand compares with it
    SWATCH_NOTED = "swatch_noted"  # stitches, rows, length, fabric
    SWATCH_STITCHES = "swatch_stitches"  # stitches, length, fabric
    SWATCH_ROWS = "swatch_rows"  # rows, length, fabric
    SWATCH_WEIGHED = "swatch_weighed"  # mass, stitches, rows
    GAUGE_FITS = "gauge_fits"
    GAUGE_ROWS_DIFFER = "gauge_rows_differ"  # percent
    GAUGE_NEEDLE_UP = "gauge_needle_up"  # percent, length: so much thicker
    GAUGE_NEEDLE_DOWN = "gauge_needle_down"  # percent, length: so much thinner
    GAUGE_OTHER_YARN = "gauge_other_yarn"  # percent
    HAND_EVEN = "hand_even"
    HAND_TIGHTER = "hand_tighter"  # row, percent, chance: how sure, in per cent
    HAND_LOOSER = "hand_looser"  # row, percent, chance
    HAND_MAYBE_TIGHTER = "hand_maybe_tighter"  # percent
    HAND_MAYBE_LOOSER = "hand_maybe_looser"  # percent
    HAND_LITTLE_TIGHTER = "hand_little_tighter"  # percent
    HAND_LITTLE_LOOSER = "hand_little_looser"  # percent
    HAND_LOOK = "hand_look"
    HAND_TOO_SOON = "hand_too_soon"
    FINISHED_WIDE = "finished_wide"  # length
    FINISHED_LONG = "finished_long"  # length
    NO_SWATCH = "no_swatch"
    SWATCH_OTHER_STATE = "swatch_other_state"
    # rows that are made up
    SAY_THE_ROW = "say_the_row"  # row
    CAST_ON_SAID = "cast_on_said"  # count
    ROW_SAID = "row_said"  # instruction, count: the stitches after it
    OTHER_ROW_SAID = "other_row_said"  # row, instruction, count
    LONG_ROW_SAID = "long_row_said"  # row, count
    ROW_OFF = "row_off"  # row: nothing is left on the needle
    ROWS_REPEATED = "rows_repeated"  # low, high, rows: which come again, and how many they are
    ROWS_REPEATED_TIMES = "rows_repeated_times"  # low, high, rows, count: how often
    ROWS_REPEATED_UNTIL = "rows_repeated_until"  # low, high, rows, length: from cast-on
    SHAPING_SAID = "shaping_said"  # row, count: the first shaped one, the stitches after the last
    ROW_MENDED = "row_mended"  # row, instruction
    ROW_SO_FAR = "row_so_far"  # row, words
    ROW_LEAVES = "row_leaves"  # count
    ASK_ROW = "ask_row"  # instruction, count
    ASK_ROW_LEAVES = "ask_row_leaves"  # row
    ROW_TAKES_MORE = "row_takes_more"  # stitches, count: what it takes, what is there
    ROW_DOES_NOT_FIT = "row_does_not_fit"  # words
    ROW_NEEDS_COUNT = "row_needs_count"
    ROW_UNKNOWN = "row_unknown"  # row
    ROW_NOT_SAID = "row_not_said"  # row
    ROW_IS_DONE = "row_is_done"  # row
    ROW_NOT_DONE = "row_not_done"  # row
    NO_ROWS_TO_REPEAT = "no_rows_to_repeat"
    SHAPE_HOW_OFTEN = "shape_how_often"
    CAST_ON_IS_PAST = "cast_on_is_past"  # row
    # what was seen
    MEASURED = "measured"  # length
    MEASURED_SO = "measured_so"  # since, fabric
    WIDTH_NOTED = "width_noted"  # length
    COUNT_RIGHT = "count_right"
    COUNT_NOTED = "count_noted"  # count
    COUNT_AS_FAULTY = "count_as_faulty"
    COUNT_SHORT_FAULTY = "count_short_faulty"  # by
    COUNT_OVER_FAULTY = "count_over_faulty"  # by
    COUNT_SHORT = "count_short"  # by
    COUNT_SHORT_SHAPING = "count_short_shaping"  # by, row
    COUNT_OVER = "count_over"  # by
    COUNT_OVER_SHAPING = "count_over_shaping"  # by, row
    WEIGHED = "weighed"  # mass
    NOTED = "noted"  # row
    DROPPED = "dropped"
    NEEDLE_CHANGED = "needle_changed"  # row, words: the needle
    LOTS_MIXED = "lots_mixed"  # words: the lots
    # yarn
    YARN_LASTS = "yarn_lasts"
    YARN_PROBABLY = "yarn_probably"  # row
    YARN_PROBABLY_NOT = "yarn_probably_not"  # row
    YARN_PERHAPS = "yarn_perhaps"
    YARN_SHORT = "yarn_short"  # low, high: it reaches for so many rows more
    YARN_CANNOT_KNOW = "yarn_cannot_know"
    YARN_COUNT_FIRST = "yarn_count_first"
    WEIGH_FIRST = "weigh_first"
    WEIGH_AT = "weigh_at"  # row
    # questions
    ASK_WORKING = "ask_working"  # row
    ASK_ROWS_DONE = "ask_rows_done"  # row
    ASK_NEEDLE = "ask_needle"  # words
    ASK_LENGTH = "ask_length"  # length
    ASK_LENGTH_AGAIN = "ask_length_again"  # length, least, most: what would be likely
    ASK_STITCHES = "ask_stitches"  # count
    ASK_SWATCH = "ask_swatch"  # stitches, rows
    ASK_SWATCH_STITCHES = "ask_swatch_stitches"  # stitches
    ASK_SWATCH_ROWS = "ask_swatch_rows"  # rows
    ASK_AFTER = "ask_after"
    ASK_UNCOUNTED = "ask_uncounted"
    ASK_HOW_MEASURED = "ask_how_measured"  # since, fabric
    ASK_PART_DONE = "ask_part_done"
    ASK_PART_EARLY = "ask_part_early"  # low, high: rows that are missing
    ASK_PART_ENDS = "ask_part_ends"  # row, side: it is not the side to end on
    ASK_FINISH = "ask_finish"
    ASK_FINISH_EARLY = "ask_finish_early"  # rows: by the pattern still to be worked
    ASK_FINISH_BEFORE_PART = "ask_finish_before_part"
    ASK_FINISH_UNBEGUN = "ask_finish_unbegun"
    ASK_ROW_OF_MISTAKE = "ask_row_of_mistake"  # row
    ASK_MASS = "ask_mass"  # mass
    NO_SUCH_STEP = "no_such_step"  # count
    ASK_PIECE_OF_NAME = "ask_piece_of_name"  # title, count
    ASK_PIECE = "ask_piece"  # title
    ASK_CAST_ON = "ask_cast_on"  # title
    ASK_CAST_ON_FAULTY = "ask_cast_on_faulty"  # title, row, place, words: what is wrong there
    ASK_CAST_ON_ODD = "ask_cast_on_odd"  # title, words: what is wrong, in no row
    ASK_MEANT = "ask_meant"  # words: what can be said
    # refusals: a reason, and what to do
    NOTHING_TO_TAKE_BACK = "nothing_to_take_back"
    NOTHING_TO_PUT_BACK = "nothing_to_put_back"
    IS_FINISHED = "is_finished"
    PAST_THE_END = "past_the_end"  # row
    TOO_FAR_BACK = "too_far_back"  # row
    NO_LIFELINE = "no_lifeline"
    NO_MARKER = "no_marker"
    NO_OPEN_PART = "no_open_part"
    NO_ROW_YET = "no_row_yet"
    NO_ROW_SINCE = "no_row_since"
    MORE_THAN_ROW = "more_than_row"  # count
    FORKED = "forked"  # low, high
    SWATCH_NEEDS_COUNTS = "swatch_needs_counts"
    NO_OTHER_PIECE = "no_other_piece"
    PIECES_BEING_READ = "pieces_being_read"  # count
    NO_SUCH_PIECE = "no_such_piece"  # words
    NO_SUCH_PATTERN = "no_such_pattern"  # words
    PATTERN_FAULTY = "pattern_faulty"  # title
    # in the designer's words
    CAUTION = "caution"  # words
    FINISHING = "finishing"  # instruction: the designer's text
    # a piece that is begun
    CAST_ON_FIRST = "cast_on_first"  # count
    JOIN_FIRST = "join_first"
    FIRST_ROW = "first_row"  # instruction
    COUNT_ROWS = "count_rows"  # row: so many are done
    HOLD_NEEDLES = "hold_needles"
    MEANS = "means"  # term
    NO_NOTES = "no_notes"
    NOTE_SAYS = "note_says"  # row, words
    NOTE_MARKED = "note_marked"  # row
    NOTE_MISTAKE = "note_mistake"  # row
    NOTE_MISTAKE_SAYS = "note_mistake_says"  # row, words
    NOTE_DROPPED = "note_dropped"  # row
    MORE_NOTES = "more_notes"  # count
    # other pieces
    PIECE_IS = "piece_is"  # count, title, row
    PATTERN_IS = "pattern_is"  # count, title
    # the conversation
    LEFT_AS_IT_WAS = "left_as_it_was"
    NO_QUESTION = "no_question"
    NOTHING_SAID_YET = "nothing_said_yet"
    HELP = "help"
    CAN_SAY = "can_say"  # words, purpose: a sentence and what it is for
    CAN_SAY_MORE = "can_say_more"
    SAY_HOW_MEASURED = "say_how_measured"
    SPEAK_THE_NOTE = "speak_the_note"
    LISTENING = "listening"
    NOT_LISTENING = "not_listening"
    TONES_ONLY = "tones_only"
    SPEAKING_AGAIN = "speaking_again"
    WITHOUT_SOUND = "without_sound"
    WORD_FIRST = "word_first"  # words: the attention word
    HOLD_TO_TALK = "hold_to_talk"
    NO_HOLDING = "no_holding"
    NO_MICROPHONE = "no_microphone"
    LISTENING_FREELY = "listening_freely"
    NO_CLASS = "no_class"
    LESSON_SAYS = "lesson_says"  # words: a sentence of the lesson
    LESSON_WORDS = "lesson_words"
    LESSON_LEFT = "lesson_left"
    NO_LESSON = "no_lesson"
    NO_SUCH_LESSON = "no_such_lesson"  # count
    VOICE_TRY = "voice_try"  # words: the sentence to say
    VOICE_ALL_WELL = "voice_all_well"
    VOICE_TOO_LOUD = "voice_too_loud"
    VOICE_TOO_QUIET = "voice_too_quiet"
    VOICE_LOUD_ROOM = "voice_loud_room"
    VOICE_NOT_UNDERSTOOD = "voice_not_understood"  # count
    NOT_LISTENING_NOW = "not_listening_now"
    REST = "rest"  # minutes
    REST_LATER = "rest_later"  # minutes
    REST_OFF = "rest_off"
    NOT_UNDERSTOOD = "not_understood"
    NOT_WRITTEN = "not_written"
    ALSO_ELSEWHERE = "also_elsewhere"  # row


if TYPE_CHECKING:
    Value = int | str | Length | Mass | Instruction | Move


@dataclass(frozen=True, slots=True)
class Reply:
    """One thing to answer: a tone (None: no sound) and what to say, with its values by name."""

    say: Say
    tone: Tone | None = None
    values: tuple[tuple[str, Value], ...] = ()
    rounds: bool = field(default=False, compare=False)
    """Whether it is said of a piece that is worked in rounds."""

    def value(self, name: str) -> Value:
        """Return the value with that name; KeyError if there is none."""
        return dict(self.values)[name]


def reply(say: Say, tone: Tone | None = None, **values: Value) -> Reply:
    """Build a reply from keyword values."""
    return Reply(say, tone, tuple(sorted(values.items(), key=lambda item: item[0])))


def about_rounds(replies: Iterable[Reply]) -> tuple[Reply, ...]:
    """Return the same answers, said of a piece that is worked in rounds."""
    return tuple(replace(one, rounds=True) for one in replies)
