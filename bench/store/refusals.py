"""Why the store will not open, record or let somebody in: each refusal with what, why and what to do."""

from __future__ import annotations

from bench.core.refusal import Refusal


class FolderNotWritable(Refusal):
    """The logbook's folder cannot be made or written: rights, a full disk, a failing disk."""

    code = "folder_not_writable"
    what = "The folder {folder} cannot be written."
    why = "{reason}."
    what_to_do = (
        "Make room on the disk or let the account that runs Tiltbook write there, then try again."
    )


class OnNetworkShare(Refusal):
    """The folder lies on a network share, where two machines could write one file at once."""

    code = "on_network_share"
    what = "The folder {folder} lies on a network share ({share})."
    why = "File locks on shares cannot be trusted, and an entry could be lost."
    what_to_do = "Choose a folder on a disk of this machine; back it up to the share instead."


class NotALogbook(Refusal):
    """The file is no logbook, or is damaged so that it cannot be read."""

    code = "not_a_logbook"
    what = "The file {file} cannot be read as a logbook."
    why = "{reason}."
    what_to_do = "Move the file away and restore a backup, or choose an empty folder."


class LogbookTooNew(Refusal):
    """A newer version has written the file."""

    code = "logbook_too_new"
    what = "The logbook {file} was written by a newer version of Tiltbook."
    why = "It has changes that this version does not know: {changes}."
    what_to_do = "Install the newer version again; the logbook is untouched."


class LogbookBusy(Refusal):
    """Another program has kept the file locked for too long."""

    code = "logbook_busy"
    what = "The logbook {file} is in use."
    why = "Another program has kept it locked for {seconds} seconds."
    what_to_do = (
        "Close other programs that have the file open, then try again. Nothing was changed."
    )


class AlreadyRecorded(Refusal):
    """The id of a new entry is taken by an entry that states something else."""

    code = "already_recorded"
    what = "This was recorded before, with other words."
    why = "Entry {entry} already states something else."
    what_to_do = "Open the page again, look at what stands, and correct it there."


class BatchTooLarge(Refusal):
    """More entries came at once than the intake takes."""

    code = "batch_too_large"
    what = "{count} entries were sent at once."
    why = "The intake takes {most} at a time."
    what_to_do = "Send them in smaller batches."


class PinRefused(Refusal):
    """The PIN is not digits, too short, too long or too easily guessed; `reason` is its code."""

    code = "pin_refused"
    what = "This PIN cannot be used ({reason})."
    why = "A PIN is {least} to {most} digits that are not easily guessed."
    what_to_do = "Choose other digits: no run, no repeat, no year."


class Throttled(Refusal):
    """Too many wrong PINs: the next one is looked at only after a wait."""

    code = "throttled"
    what = "Wait {seconds} seconds before the next try."
    why = "The last PINs were wrong."
    what_to_do = "Wait, then type the PIN slowly."

    @property
    def seconds(self) -> int:
        """How long to wait, rounded up."""
        return int(str(self.params["seconds"]))


class Locked(Refusal):
    """So many wrong PINs that a supervisor has to unlock the person."""

    code = "locked"
    what = "{initials} is locked."
    why = "The PIN was wrong too many times."
    what_to_do = "Ask a supervisor to unlock it."


class CodeRefused(Refusal):
    """The one-time code is wrong, used by another device or out of date; which is not told."""

    code = "code_refused"
    what = "The code is not taken."
    why = "It is wrong, was used, or is older than ten minutes."
    what_to_do = "Ask a supervisor for a new one."


class BackupUnreadable(Refusal):
    """The file is no backup, or not whole."""

    code = "backup_unreadable"
    what = "The file {file} cannot be restored."
    why = "{reason}."
    what_to_do = "Take another backup. Nothing was changed."


class NotEmpty(Refusal):
    """The folder holds something, and what is brought in must not mix with it."""

    code = "not_empty"
    what = "The folder {folder} is not empty."
    why = "What is brought in must not mix with what is there."
    what_to_do = "Choose an empty folder with --data."


class ExportUnreadable(Refusal):
    """The folder holds no export, or not a whole one."""

    code = "export_unreadable"
    what = "What lies in {folder} cannot be brought in."
    why = "{reason}."
    what_to_do = "Export the whole log again, and choose that folder."
