"""
What can go wrong with a journal, each with one sentence that says it and one that helps.

Whatever is raised here, nothing was half written and nothing of what was there was changed.
"""

from __future__ import annotations

from typing import ClassVar


class JournalError(Exception):
    """
    The journal could not do it; `str` gives what happened and what to do about it.

    `happened` and `remedy` are one sentence each.
    """

    remedy: ClassVar[str] = "Try again; if it happens again, choose another place for the journal."

    def __init__(self, happened: str) -> None:
        """Say what happened."""
        super().__init__(happened)
        self.happened = happened

    def __str__(self) -> str:
        """Say what happened and what to do about it."""
        return f"{self.happened} {self.remedy}"


class UnreachableJournalError(JournalError):
    """There is no folder, no file, or something else stands in its place."""

    remedy = "Check the name, or choose another place for the journal."


class ReadOnlyJournalError(JournalError):
    """The file or its folder may be read but not written."""

    remedy = "Allow writing there, or choose another place for the journal."


class UnsoundError(JournalError):
    """What should be kept is beyond all bounds."""

    remedy = "Nothing was written; say it again with another number or a shorter text."


class DiskFullError(JournalError):
    """There is no room for what should be written."""

    remedy = "Free some space and say it again; what was written before is all there."


class BusyJournalError(JournalError):
    """Another program kept the journal locked for longer than we wait."""

    remedy = "Close the other Walesong that has it open, then say it again."


class DiskError(JournalError):
    """The disk did not take or give what was asked of it."""

    remedy = "Check the disk or card; make a backup of the journal before going on."


class GoneJournalError(JournalError):
    """The file was moved or deleted while it was open, so writing to it would save nothing."""

    remedy = "Put the file back where it was, then start Walesong again."


class NameTakenError(JournalError):
    """There is a file of that name already, and nobody said that it may be replaced."""

    remedy = 'Choose another name, or add "--replace".'


class NotAJournalError(JournalError):
    """The file is something else; it is not touched."""

    remedy = "Choose another file; this one was left as it is."


class NewerJournalError(JournalError):
    """A newer Walesong wrote it; it is not touched."""

    remedy = "Open it with the newer Walesong; this one left it as it is."


class DamagedJournalError(JournalError):
    """The file is a journal but not whole; it is not touched until it is mended."""

    remedy = (
        'Mend it with "walesong mend": the damaged file is kept beside, and all that can be '
        "read goes on."
    )

    def __init__(self, happened: str, copy: str = "") -> None:
        """Say what happened; `copy` names the newest dated copy beside it ("": there is none)."""
        super().__init__(happened)
        self.copy = copy

    def __str__(self) -> str:
        """Say what happened and what to do about it, with the dated copy where there is one."""
        if not self.copy:
            return super().__str__()
        return f'{super().__str__()} Or "walesong restore" puts the copy of {self.copy} in place.'


class LostJournalError(DamagedJournalError):
    """The file was there and is not any more, but a dated copy of it is."""

    remedy = "To begin anew, take the folder of its copies away, too."
