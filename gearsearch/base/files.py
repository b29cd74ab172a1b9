"""Writing files so that a fault leaves either the old files or the new ones, never half of either.

Drafts are written beside the targets, brought to the disk and looked at again, then put in place, and taken back where
one cannot be. All drafts of a call bear one mark, so that two paths of one file meet in one name: the file system
itself tells what is the same, also of files that are not there yet.
"""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass
from pathlib import Path

from .errors import GearsearchError

_guards: list[Callable[[], None]] = []


@contextmanager
def guarded(guard: Callable[[], None]) -> Iterator[None]:
    """While this lasts, call ``guard`` before files are put in place; where it raises, none of them is."""
    _guards.append(guard)
    try:
        yield
    finally:
        _guards.remove(guard)


@dataclass(frozen=True, slots=True)
class _Draft:
    """A file that is being written.

    Parameters
    ----------
    named : the file as the user named it
    place : the file itself: what a link points to
    part : what is written until all is well, beside the place
    old : where the old file is kept while several are put in place
    """

    named: Path
    place: Path
    part: Path
    old: Path


@contextmanager
def replacing_all(targets: Iterable[str | Path], *, overwrite: bool = False) -> Iterator[list[Path]]:
    """Give a draft for each target; put them all in place when the block ends well, and none when anything fails.

    Parameters
    ----------
    targets : the files to write, each named once, by whatever path
    overwrite : replace files that are already there

    Yields the drafts, empty files in the folders of the targets, in their order; the block must close what it opens.
    A link is followed: the file it points to is replaced, or made where there is none. A file that is replaced keeps
    its permissions, and its other hard links keep what it held.

    When the block fails or is interrupted, no target is touched. When it ends well, every draft is brought to the
    disk, every target is looked at again, and only then is one after the other put in place. Where one of them cannot
    be, or on Ctrl-C, those before it are taken back: an old file is there again, a new one is gone.

    Limits: a kill or a power cut between two of them cannot be taken back: each file is then whole, but some may be
    old and some new, and drafts (``.part``, ``.old``) may lie beside them. Where the file system has no hard links, a
    file that somebody else makes in the very last moment is replaced.
    Raises GearsearchError for a file named twice, one that is there while ``overwrite`` is off, also when it has
    appeared meanwhile, for a folder, a device or a pipe, and where writing fails.
    """
    with _drafts(targets, overwrite=overwrite) as drafts:
        try:
            yield [draft.part for draft in drafts]
            _put_all(drafts, overwrite=overwrite)
        except OSError as error:
            raise _cannot_write(_meant(drafts, error), error) from None


@contextmanager
def replacing(target: str | Path, *, overwrite: bool = False) -> Iterator[Path]:
    """Give a draft for one target, and put it in place when the block ends well: as ``replacing_all``."""
    with replacing_all([target], overwrite=overwrite) as (draft,):
        yield draft


def write_text(target: str | Path, text: str, *, overwrite: bool = False) -> None:
    """Write a text file, UTF-8 with plain line ends, whole or not at all."""
    with replacing(target, overwrite=overwrite) as draft:
        draft.write_text(text, encoding="utf-8", newline="\n")


def legible(name: str) -> str:
    """A file's name as text that can be written anywhere: bytes of it that are no text become ``?``."""
    return name.encode("utf-8", "replace").decode()


def ending_of(name: str | Path, endings: Sequence[str], that: str = "can be written") -> str:
    """Which of some endings a file's name has. Raises GearsearchError where it has none; ``that`` is what they can."""
    alone = Path(name).name.lower()
    found = next((ending for ending in endings if alone.endswith(ending)), None)
    if alone in ("", *endings):
        what = f"{name} is an ending without a name before it" if alone else "no file is named"
        raise GearsearchError(what, f"write both, as in leads{found or endings[0]}", code="no-name")
    if found is None:
        raise GearsearchError(
            f"{name} has none of the endings that {that}", f"end the name in one of {', '.join(endings)}"
        )
    return found


def check_all_writable(names: Iterable[str | Path], *, overwrite: bool) -> None:
    """Refuse what ``replacing_all`` would refuse, before any long work is begun; each folder is tried with a draft."""
    with _drafts(names, overwrite=overwrite):
        pass


def check_apart(read: str | Path, names: Iterable[str | Path]) -> None:
    """Refuse to write over a file that is read for what is written."""
    for name in names:
        with suppress(OSError):  # one of the two is not there
            if Path(read).samefile(name):
                raise GearsearchError(
                    f"{name} is what is read here, and would be lost", "name another file to write", code="input-lost"
                )


@contextmanager
def _drafts(targets: Iterable[str | Path], *, overwrite: bool) -> Iterator[list[_Draft]]:
    mark, drafts = os.urandom(6).hex(), list[_Draft]()
    try:
        for target in targets:
            _begin(Path(target), mark, drafts, overwrite=overwrite)
        yield drafts
    finally:
        for draft in drafts:
            with suppress(OSError):
                draft.part.unlink(missing_ok=True)


def _begin(named: Path, mark: str, drafts: list[_Draft], *, overwrite: bool) -> None:
    """Make the draft of a file. All bear one mark, so that two of one file meet, whatever the file system's rules."""
    try:
        place = _place_of(named)
        _check_place(named, place, overwrite=overwrite)
        part, old = (place.with_name(f".{place.name}.{mark}.{end}") for end in ("part", "old"))
        drafts.append(_Draft(named, place, part, old))
        _create(part, _mode(place))
    except FileExistsError:
        first = next(draft.named for draft in drafts if draft.part.samefile(part))
        twice = f"{named} is named twice" if first == named else f"{first} and {named} are one file"
        raise GearsearchError(twice, "name each file once", code="one-file") from None
    except OSError as error:  # a name too long, or a folder that may not be read or written in
        raise _cannot_write([named], error) from None


def _place_of(named: Path) -> Path:
    """The file itself: what a link points to, whether it is there or not."""
    if not named.is_symlink():
        return named
    place = Path(os.path.realpath(named))
    if place.is_symlink():  # links in a ring
        raise GearsearchError(
            f"{named} cannot be written: its links lead round in a ring", "name the file itself", code="not-writable"
        )
    return place


def _check_place(named: Path, place: Path, *, overwrite: bool) -> None:
    if place.is_dir():
        raise GearsearchError(f"{named} cannot be written: it is a folder", "name a file in it", code="not-writable")
    if not place.parent.is_dir():
        raise GearsearchError(
            f"{named} cannot be written: there is no folder {place.parent}", "make the folder first", code="no-folder"
        )
    if place.exists() and not place.is_file():
        raise GearsearchError(
            f"{named} cannot be written: it is a device or a pipe", "name an ordinary file", code="not-writable"
        )
    if place.exists() and not overwrite:
        raise GearsearchError(
            f"{named} exists", "add --overwrite to replace it, or name another file", code="file-exists"
        )


def _mode(place: Path) -> int:
    """The permissions of the file that is there; of a new one, what the system then takes the umask from."""
    return stat.S_IMODE(place.stat().st_mode) if place.exists() else 0o666


def _create(path: Path, mode: int) -> None:
    """Make an empty file that nobody has who may not have the old one, and that we may write."""
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode & 0o777 | 0o600))


def _put_all(drafts: Sequence[_Draft], *, overwrite: bool) -> None:
    for draft in drafts:
        _finish(draft)
    for draft in drafts:
        if not overwrite:
            _check_absent(draft)
        _check_place(draft.named, draft.place, overwrite=overwrite)
    for guard in _guards:
        guard()
    with _all_or_none(drafts) if len(drafts) > 1 else nullcontext():
        for draft in drafts:
            _put(draft, overwrite=overwrite)


def _finish(draft: _Draft) -> None:
    """Bring a draft to the disk, with the permissions of the file that it replaces."""
    with draft.part.open("r+b") as stream:
        if draft.place.exists() and _mode(draft.place) != _mode(draft.part):
            draft.part.chmod(_mode(draft.place))
        os.fsync(stream.fileno())


def _check_absent(draft: _Draft) -> None:
    if os.path.lexists(draft.place):
        raise GearsearchError(
            f"{draft.named} has appeared meanwhile, and is left as it is", "name another file", code="file-appeared"
        )


def _put(draft: _Draft, *, overwrite: bool) -> None:
    if overwrite:
        draft.part.replace(draft.place)
        return
    try:
        draft.place.hardlink_to(draft.part)  # fails where the target has appeared; a rename would replace it
    except OSError:  # it has, or the file system has no hard links
        _check_absent(draft)
        draft.part.rename(draft.place)


@contextmanager
def _all_or_none(drafts: Sequence[_Draft]) -> Iterator[None]:
    """Keep the old files until all the new ones are in place; where one cannot be, take back those that are."""
    made = [draft.part.stat() for draft in drafts]
    try:
        for draft in drafts:
            _keep(draft)
        yield
    except BaseException:
        _take_all_back(drafts, made)
        raise
    for draft in drafts:
        with suppress(OSError):
            draft.old.unlink(missing_ok=True)


def _keep(draft: _Draft) -> None:
    if not draft.place.exists():
        return
    try:
        draft.old.hardlink_to(draft.place)
    except OSError:  # a file system without hard links
        _create(draft.old, _mode(draft.place))
        shutil.copy2(draft.place, draft.old)


def _take_all_back(drafts: Sequence[_Draft], made: Sequence[os.stat_result]) -> None:
    stuck = []
    for draft, new in zip(drafts, made, strict=True):
        try:
            _take_back(draft, new)
        except OSError:
            stuck.append(draft)
    if stuck:
        names, old = (" and ".join(str(getattr(draft, part)) for draft in stuck) for part in ("named", "old"))
        raise GearsearchError(
            f"not every file could be written, and {names} could not be put back as before",
            f"what was there before, if anything, is kept in {old}",
            code="not-put-back",
        ) from None


def _take_back(draft: _Draft, new: os.stat_result) -> None:
    is_gone = not draft.place.exists()
    is_new = not is_gone and os.path.samestat(draft.place.stat(), new)
    if draft.old.exists() and (is_new or is_gone):
        draft.old.replace(draft.place)
    elif is_new:
        draft.place.unlink()
    else:
        draft.old.unlink(missing_ok=True)


def _meant(drafts: Sequence[_Draft], error: OSError) -> list[Path]:
    """The file that a fault is about, as it was named; all of them where the fault does not say."""
    said = str(error.filename)
    return [draft.named for draft in drafts if said in map(str, (draft.part, draft.place, draft.old))] or [
        draft.named for draft in drafts
    ]


def _cannot_write(named: Sequence[Path], error: OSError) -> GearsearchError:
    reason = error.strerror or str(error)
    return GearsearchError(
        f"{' or '.join(map(str, named))} cannot be written: {reason.lower()}",
        "choose another folder or name, or free some room",
        code="not-writable",
    )
