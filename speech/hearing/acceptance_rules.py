"""The rules of acceptance in figures, and the sentence of every reason for refusing.

They were chosen with the voices and the noises of `bench` that may be tuned on, never with the
others.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from speech.hearing.events import Reason
from speech.hearing.gate import GateSettings
from speech.hearing.her_voice import VoiceSettings
from speech.hearing.joining import JoiningSettings
from speech.hearing.judging import JudgingSettings


@dataclass(frozen=True, slots=True)
class AcceptanceSettings:
    """The rules of acceptance; times in seconds, levels in dB below full scale."""

    gate: GateSettings = field(default_factory=GateSettings)
    judging: JudgingSettings = field(default_factory=JudgingSettings)
    joining: JoiningSettings = field(default_factory=JoiningSettings)
    voice: VoiceSettings = field(default_factory=VoiceSettings)
    decoded_after_s: float = 0.15
    """A pause is decoded when it has lasted so long;"""
    ends_after_s: float = 0.22
    """it ends the utterance after so long if what was said is a whole command,"""
    goes_on_s: float = 0.42
    """after so long if a longer command begins like it,"""
    goes_on_in_noise_s: float = 0.55
    """where it is loud after so long,"""
    likely_goes_on_s: float = 1.65
    """
    and after so long if it ends in a number that is as likely as not the first part of one: an
    answer that came sooner would drown the rest.
    """
    row_goes_on_s: float = 0.9
    """She thinks between the steps of a row that she says."""
    goes_on_behind_s: float = 0.1
    """A voice that is longer than its loud part by this may say more than that part;"""
    still_speaking_s: float = 0.3
    """as long as it goes on, so much longer is waited for the rest."""
    refused_after_s: float = 0.6
    """and after so long if it is no command at all: nobody waits for a refusal."""
    row_longest_s: float = 25.0
    """A row that is said may take so long, longer than any command."""
    dictation_ends_s: float = 1.0
    """A dictated note may pause for longer."""
    padding_before_s: float = 0.35
    """So much of what comes before an utterance is decoded with it,"""
    padding_after_s: float = 0.15
    """and so much of what comes after it."""
    commands_weigh: int = 3
    """How often the sentences are repeated, which makes stitched words rarer."""
    looks_every_s: float = 0.05
    """How often the gate is looked at."""
    level_every_s: float = 0.2
    """How often the level is told."""
    clips_at: float = 0.985
    """Samples beyond this are clipped."""
    clipped_share: float = 0.01
    """An utterance with a larger share of clipped samples is too loud;"""
    clipping_every_s: float = 60.0
    """that is told no more often than this."""


SENTENCES = {
    Reason.TOO_SHORT: "Too short for a command.",
    Reason.TOO_LONG: "Too long for a command.",
    Reason.TOO_QUIET: "Too quiet: far away, or not meant for me.",
    Reason.NO_WORDS: "None of the words I know.",
    Reason.NOT_A_COMMAND: "Not a whole command.",
    Reason.UNSURE: "It could have been two different things.",
    Reason.OTHER_WORDS: "It sounded like something else.",
    Reason.ONLY_AN_ANSWER: "There is no question to answer.",
    Reason.NOT_HERS: "A short answer in another voice, or in the middle of talk.",
    Reason.NO_ATTENTION_WORD: "The attention word did not come first.",
}
