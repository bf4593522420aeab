"""Where a logbook may lie: a folder that can be written, on a disk of this machine."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from bench.store.refusals import FolderNotWritable, OnNetworkShare

SHARE_TYPES = frozenset(
    {"nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ceph", "glusterfs", "lustre", "davfs", "fuse.sshfs"}
    | {"fuse.glusterfs", "fuse.rclone", "fuse.davfs2", "fuse.s3fs", "fuse.gvfsd-fuse"}
)  # fmt: skip
_MOUNTS = Path("/proc/mounts")
_REMOTE_DRIVE = 4


def made_ready(folder: Path) -> Path:
    """Make the folder when it is missing and return its full path.

    Raises FolderNotWritable, OnNetworkShare.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
        found = folder.resolve(strict=True)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise FolderNotWritable(folder=str(folder), reason=reason) from error
    share = share_of(found)
    if share:
        raise OnNetworkShare(folder=str(folder), share=share)
    return found


def share_of(folder: Path) -> str | None:
    """Return what kind of network share a folder lies on, or None where none can be told."""
    if is_unc(str(folder)):
        return "UNC path"
    if sys.platform == "win32":
        return "network drive" if _is_remote_drive(folder) else None
    try:
        mounts = _MOUNTS.read_text("utf-8", errors="replace")
    except OSError:
        return None
    kind = mount_type(str(folder), mounts)
    return kind if kind in SHARE_TYPES else None


def is_unc(path: str) -> bool:
    r"""Say whether a path names a share, as in \\server\share."""
    text = path.replace("/", "\\") if os.name == "nt" else path
    return text.startswith("\\\\") and not text.startswith(("\\\\?\\", "\\\\.\\"))


def mount_type(folder: str, mounts: str) -> str | None:
    """Return the file system type of the mount a folder lies in, from the text of /proc/mounts.

    Spaces in mount points are written as octal escapes there: proc(5), fstab(5).
    """
    kind, longest = None, -1
    for line in mounts.splitlines():
        parts = line.split(" ")
        if len(parts) < 3:
            continue
        point = _unescaped(parts[1]).rstrip("/")
        if (folder == point or folder.startswith(point + "/")) and len(point) >= longest:
            kind, longest = parts[2], len(point)
    return kind


def _unescaped(point: str) -> str:
    for code, letter in (("\\040", " "), ("\\011", "\t"), ("\\012", "\n"), ("\\134", "\\")):
        point = point.replace(code, letter)
    return point


def _is_remote_drive(folder: Path) -> bool:
    if sys.platform != "win32":
        return False
    import ctypes

    return int(ctypes.windll.kernel32.GetDriveTypeW(folder.anchor)) == _REMOTE_DRIVE
