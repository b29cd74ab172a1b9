"""Writing files so that a fault leaves either the old file or the new one, never half of either."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from .errors import GearsearchError


@contextmanager
def replacing(target: str | Path, *, overwrite: bool = False) -> Iterator[Path]:
    """Give a temporary name beside the target; put it in the target's place when the block ends well.

    Parameters
    ----------
    target : the file to write
    overwrite : replace a file that is already there

    Yields the temporary path. Raises GearsearchError when the target exists and ``overwrite`` is off, is a
    folder, or cannot be written. When the block fails, the temporary file is removed and the target untouched.
    """
    path = Path(target)
    check_writable(path, overwrite=overwrite)
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        os.close(handle)
    except OSError as error:
        raise _cannot_write(path, error) from None
    draft = Path(name)
    try:
        yield draft
        draft.chmod(0o666 & ~_umask())
        _put_in_place(draft, path, overwrite=overwrite)
    except OSError as error:
        raise _cannot_write(path, error) from None
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def check_all_writable(names: Iterable[str | Path], *, overwrite: bool) -> None:
    """Refuse files that cannot all be written, before any long work is begun; each may be named once."""
    seen: set[Path] = set()
    for path in map(Path, names):
        if path in seen:
            raise GearsearchError(f"{path} is named twice", "name each file once")
        seen.add(path)
        check_writable(path, overwrite=overwrite)


def check_writable(path: Path, *, overwrite: bool) -> None:
    """Refuse a target that cannot be written, before any long work is begun."""
    try:
        _check_place(path, overwrite=overwrite)
    except OSError as error:  # a name too long, or one in a folder that may not be read
        raise _cannot_write(path, error) from None


def _check_place(path: Path, *, overwrite: bool) -> None:
    if path.is_dir():
        raise GearsearchError(f"{path} cannot be written: it is a folder", "name a file in it")
    if not path.parent.is_dir():
        raise GearsearchError(f"{path} cannot be written: there is no folder {path.parent}", "make the folder first")
    if path.exists() and not overwrite:
        raise GearsearchError(f"{path} is already there", "add --overwrite to replace it, or name another file")


def write_text(target: str | Path, text: str, *, overwrite: bool = False) -> None:
    """Write a text file, UTF-8 with plain line ends, whole or not at all."""
    with replacing(target, overwrite=overwrite) as draft:
        draft.write_text(text, encoding="utf-8", newline="\n")


def _put_in_place(draft: Path, path: Path, *, overwrite: bool) -> None:
    with draft.open("rb") as stream:
        os.fsync(stream.fileno())
    if overwrite:
        draft.replace(path)
        return
    try:
        path.hardlink_to(draft)  # fails where the target has appeared meanwhile; a rename would replace it
    except FileExistsError:
        raise GearsearchError(f"{path} has appeared meanwhile, and is left as it is", "name another file") from None
    except OSError:
        draft.replace(path)  # a file system without hard links


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _cannot_write(path: Path, error: OSError) -> GearsearchError:
    reason = error.strerror or str(error)
    return GearsearchError(
        f"{path} cannot be written: {reason.lower()}", "choose another folder or name, or free some room"
    )
