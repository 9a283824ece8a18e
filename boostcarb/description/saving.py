"""Writing files so that nothing is ever half written or overwritten by accident."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from pathlib import Path

from boostcarb.errors import BadDescription, Problem


def save_text(path: Path, text: str, *, force: bool = False) -> None:
    """Write a file in one step: whole, or not at all.

    The text goes to a temporary file in the same folder, which then takes its place. Without
    ``force`` a file that exists is kept, even one that appears at the last moment. An overwritten
    file keeps its mode; a symbolic link keeps pointing at the file that is overwritten.

    Args:
        path: the file to write.
        text: its whole content, written as UTF-8.
        force: overwrite a file that exists.

    Raises:
        BadDescription: the file exists, or cannot be written.
    """
    target = Path(os.path.realpath(path)) if force and os.path.islink(path) else path
    if not force and os.path.lexists(path):
        raise BadDescription(_exists(path))
    if os.path.exists(target) and not os.path.isfile(target):  # a device or pipe would be lost under a file
        what = "it is a folder" if os.path.isdir(target) else "it is no ordinary file"
        raise BadDescription(Problem(f"cannot be written: {what}; choose another name", path))
    temporary = target.parent / f".{secrets.token_hex(12)}.tmp"
    try:
        content = text.encode("utf-8")
        _write(temporary, content, _mode(target) if force else None)
        if force:
            temporary.replace(target)
        else:
            _place_new(temporary, target)
        _sync_folder(target.parent)
    except FileExistsError as error:
        raise BadDescription(_exists(path)) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadDescription(Problem(f"cannot be written: {reason}", path)) from error
    finally:
        if os.path.lexists(temporary):
            temporary.unlink()


def _exists(path: Path) -> Problem:
    return Problem("exists already; choose another name, or overwrite it with --force", path)


def _mode(target: Path) -> int | None:
    return stat.S_IMODE(target.stat().st_mode) if target.exists() else None


def _write(temporary: Path, content: bytes, mode: int | None) -> None:
    descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    with open(descriptor, "wb") as stream:
        if mode is not None:
            temporary.chmod(mode)
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _place_new(temporary: Path, target: Path) -> None:
    """Give the temporary file its name unless the name is taken."""
    try:
        os.link(temporary, target, follow_symlinks=False)
    except FileExistsError:
        raise
    except (OSError, NotImplementedError):
        # No hard links on this file system: claim the name first, then replace the claim.
        os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
        temporary.replace(target)


def _sync_folder(folder: Path) -> None:
    """Make the new name durable, where folders can be opened at all: the file is in its place either way."""
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
