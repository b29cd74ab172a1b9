"""Finished slices of long work, kept beside the file that is made of them until it is there, to go on with.

A folder ``NAME.part`` holds a text file that says what the work was, and files of slices in the order of the work, so
that they are read as it goes along and none is held. Each slice bears a digest: one that is damaged, as where the power
went, is worked out again.
"""

from __future__ import annotations

import hashlib
import io
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, BinaryIO

from .columns import Columns
from .errors import GearsearchError

_AFTER = 10.0  # s of work from which on slices are kept; what was done before is quickly done again
_SEGMENT = 64_000_000  # bytes of a file, about
_MANIFEST = "work.txt"
Asked = Callable[[], dict[str, str]]
_MARK, _SIZE = b"gear", 4 + 16 + 8 + 16  # of the head of a slice: mark, item, length, digest


class Kept:
    """The slices that are kept beside a file.

    Parameters
    ----------
    target : the file
    asked : tells what the work is, by name: slices go with the very same alone
    overwrite : begin again, whatever is kept
    resume : go on with what is kept

    Raises GearsearchError where slices are kept and neither is asked for, and for those of other work.
    """

    def __init__(self, target: Path, asked: Asked, *, overwrite: bool = False, resume: bool = False) -> None:
        self.folder = target.with_name(f"{target.name}.part")
        self.taken = self.damaged = 0
        self._asked = asked
        self._began = time.monotonic()
        self._logs = 0
        self._is_off = False
        there = (self.folder / _MANIFEST).is_file()
        if self.folder.exists() and not there:
            raise GearsearchError(
                f"{self.folder} is where finished slices are kept, and it holds something else",
                "move it away, or name another file to write",
                code="not-slices",
            )
        if there and not resume and not overwrite:
            raise GearsearchError(
                f"{self.folder} holds finished slices of work that was broken off, or still goes on",
                "add --resume to go on with them, or --overwrite to begin again",
                code="broken-off",
            )
        if there and resume:
            self._check()
        elif there:
            self.remove()
        self.is_begun = there and resume
        if resume and not there:
            _say(f"{self.folder} is not there: nothing to go on with, the work begins at its start")

    def _check(self) -> None:
        """Raise GearsearchError where what is kept is of other work."""
        try:
            lines = (self.folder / _MANIFEST).read_text(encoding="utf-8").splitlines()
        except (OSError, ValueError):
            lines = []
        other = [name for name, word in self._asked().items() if f"{name}: {word}" not in lines]
        if other:
            raise GearsearchError(
                f"the slices in {self.folder} are of other work: {' and '.join(other)} changed since",
                "ask for the same as before, or leave --resume out and add --overwrite to begin again",
                code="other-work",
            )

    def log(self, like: Columns) -> SliceLog:
        """Where the next piece of work keeps its slices; ``like`` shows what columns they have."""
        self._logs += 1
        return SliceLog(self, f"{self._logs:03}", like)

    @property
    def is_due(self) -> bool:
        """Whether slices are kept by now."""
        return not self._is_off and (self.is_begun or time.monotonic() - self._began >= _AFTER)

    def write(self, path: Path, data: bytes) -> None:
        """Add to a file of slices. A disk that can't take it is told of, once."""
        try:
            if not self.is_begun:
                self.folder.mkdir()
                self.is_begun = True
                lines = [f"{name}: {word}\n" for name, word in self._asked().items()]
                (self.folder / _MANIFEST).write_text("".join(lines), encoding="utf-8")
            with path.open("ab") as stream:
                stream.write(data)
        except OSError as error:
            self._is_off = True
            reason = (error.strerror or str(error)).lower()
            _say(f"finished slices can't be kept in {self.folder}: {reason}; the work goes on without")

    def remove(self) -> None:
        """Take the kept slices away; what else somebody has put there stays."""
        with suppress(OSError):
            for path in [*self.folder.glob("*.slices"), self.folder / _MANIFEST]:
                path.unlink(missing_ok=True)
            self.folder.rmdir()


class SliceLog:
    """The slices of one piece of work: those kept before are read one after another, then new ones are written.

    Parameters
    ----------
    kept : of which folder
    name : of its files
    like : a lot with the same columns
    """

    def __init__(self, kept: Kept, name: str, like: Columns) -> None:
        self._kept = kept
        self._name = name
        self._like = like
        files = sorted(kept.folder.glob(f"{name}-*.slices")) if kept.is_begun else []
        self._heads = self._read(files)
        self._head = next(self._heads, None)
        self._segment = len(files) + 1
        self._written = 0

    def take(self, item: object) -> Any:
        """The result that is kept for an item, or None."""
        asked = _item_digest(item)
        while self._head is not None and self._head[0] == asked:
            _, digest, data = self._head
            self._head = next(self._heads, None)
            if _digest(data) == digest:
                self._kept.taken += 1
                return _unpacked(data, self._like)
            self._kept.damaged += 1  # it may have been worked out again, and then comes next
        return None

    @property
    def is_read(self) -> bool:
        """Whether all that was kept has been taken: what follows is new."""
        return self._head is None

    def put(self, item: object, result: Any) -> None:
        """Keep the result of an item that came after all that was kept, once the work takes long."""
        if not self._kept.is_due:
            return
        data = _packed(result)
        head = _MARK + _item_digest(item) + len(data).to_bytes(8, "big") + _digest(data)
        self._written += len(head) + len(data)
        self._kept.write(self._kept.folder / f"{self._name}-{self._segment:06}.slices", head + data)
        if self._written > _SEGMENT:
            self._segment, self._written = self._segment + 1, 0

    def _read(self, files: list[Path]) -> Iterator[tuple[bytes, bytes, bytes]]:
        """Item, digest and data of each slice; the rest of a file that is no such is passed over."""
        for path in files:
            with path.open("rb") as stream:
                size = path.stat().st_size
                while head := stream.read(_SIZE):
                    found = _read_one(stream, head, size)
                    if found is None:
                        self._kept.damaged += 1
                        break
                    yield found


def _read_one(stream: BinaryIO, head: bytes, size: int) -> tuple[bytes, bytes, bytes] | None:
    length = int.from_bytes(head[20:28], "big")
    if len(head) < _SIZE or head[:4] != _MARK or length > size:
        return None
    data = stream.read(length)
    return (head[4:20], head[28:], data) if len(data) == length else None


@contextmanager
def kept_beside(target: Path, asked: Asked, *, overwrite: bool = False, resume: bool = False) -> Iterator[Kept]:
    """Keep finished slices beside a file while it is being made; they are gone when it is there.

    Parameters and what it raises are those of ``Kept``. Where the work is broken off, what is raised says how to go on.
    """
    kept = Kept(target, asked, overwrite=overwrite, resume=resume)
    try:
        yield kept
    except KeyboardInterrupt:
        if kept.is_begun and kept.folder.is_dir():
            raise KeyboardInterrupt(
                f"interrupted; finished slices are kept in {kept.folder}, to go on type the same with --resume"
            ) from None
        raise
    except GearsearchError as error:
        if kept.is_begun and kept.folder.is_dir():  # another process that made the same file has taken it away
            said = f"finished slices are kept in {kept.folder}"
            if error.code == "file-exists":
                error.remedy = f"add --resume and --overwrite to put this one in its place: {said}"
            else:
                error.remedy += f"; {said}, to go on type the same with --resume"
        raise
    if kept.is_begun:
        kept.remove()
    if kept.taken or kept.damaged:
        again = f"; {kept.damaged} damaged, worked out again" if kept.damaged else ""
        _say(f"taken up from before: {kept.taken} slices{again}")


def digest_of(thing: object) -> str:
    """A word for all that a shop or terms hold, the same in every process."""
    return hashlib.sha256(_plain(thing).encode()).hexdigest()[:16]


def _plain(thing: object) -> str:
    if is_dataclass(thing):
        inner = ",".join(_plain(getattr(thing, field.name)) for field in fields(thing))
        return f"{type(thing).__name__}({inner})"
    if isinstance(thing, dict):
        return f"{{{','.join(sorted(f'{_plain(key)}:{_plain(value)}' for key, value in thing.items()))}}}"
    if isinstance(thing, (set, frozenset)):
        return f"{{{','.join(sorted(map(_plain, thing)))}}}"
    if isinstance(thing, (tuple, list)):
        return f"[{','.join(map(_plain, thing))}]"
    return repr(thing)


def _item_digest(item: object) -> bytes:
    return _digest(repr(item).encode())


def _digest(data: bytes) -> bytes:
    return hashlib.blake2b(data, digest_size=16).digest()


def _packed(result: Columns) -> bytes:
    """Columns as bytes, without anything that could do more than be read."""
    import numpy as np
    import pyarrow as pa

    stream = io.BytesIO()
    np.savez(stream, allow_pickle=False, **result.arrays())
    plain = stream.getvalue()
    return len(plain).to_bytes(8, "big") + bytes(pa.compress(plain, "zstd", asbytes=True))


def _unpacked(data: bytes, like: Columns) -> Columns:
    import numpy as np
    import pyarrow as pa

    plain = pa.decompress(data[8:], int.from_bytes(data[:8], "big"), "zstd", asbytes=True)
    with np.load(io.BytesIO(plain), allow_pickle=False) as arrays:
        return like.of_arrays({name: arrays[name] for name in arrays.files})


def _say(text: str) -> None:
    print(text, file=sys.stderr)
