"""What the operating system's refusals mean in plain words."""

import errno
import os
from pathlib import Path

_WORDS = {
    errno.ENOSPC: "there is no space left on the disk; free some and try again",
    errno.EDQUOT: "the quota of disk space is used up; free some and try again",
    errno.EFBIG: "it would exceed the size a file may have here",
    errno.EACCES: "there is no permission for it",
    errno.EPERM: "there is no permission for it",
    errno.EROFS: "the file system is read-only",
    errno.ENOENT: "it does not exist",
    errno.EEXIST: "it exists already",
    errno.EISDIR: "it is a folder, not a file",
    errno.ENOTDIR: "a part of its path is a file, not a folder",
    errno.ENOTEMPTY: "the folder is not empty",
    errno.ENAMETOOLONG: "its name is too long for this file system",
    errno.EINVAL: "this file system does not allow it",
    errno.EIO: "the disk reports a fault",
    errno.EBUSY: "another program has it open; close it there and try again",
    errno.ETXTBSY: "another program has it open; close it there and try again",
    errno.EMFILE: "too many files are open",
    errno.ENODEV: "the drive is not there",
    errno.ENXIO: "the drive is not there",
    errno.ESTALE: "the network drive has lost it",
}
_BUSY_ON_WINDOWS = {5, 32, 33}  # access denied (while open elsewhere), sharing violation, lock violation


def busy(problem: OSError) -> bool:
    """Whether a refusal means that another program holds the file open (Windows only)."""
    return getattr(problem, "winerror", None) in _BUSY_ON_WINDOWS


def sentence(path: Path, action: str, problem: OSError) -> str:
    """One sentence: the file, what could not be done with it ('written'), and why."""
    if busy(problem):
        reason = _WORDS[errno.EBUSY]
    else:
        known = _WORDS.get(problem.errno or 0)
        reason = known or (os.strerror(problem.errno) if problem.errno else str(problem) or "unknown reason")
    return f"{path} could not be {action}: {reason}."
