"""The manual page, made from the parser; ``python tests/reference.py`` writes it anew."""

from pathlib import Path

import reference

import gearsearch.commands

PAGE = Path(gearsearch.commands.__file__).with_name("gearsearch.1")


def page():
    """The whole page, as ``man`` reads it."""
    whole, *commands = reference.parsers()
    return "\n".join(
        [
            f'.TH GEARSEARCH 1 "" "gearsearch {gearsearch.__version__}" ""',
            ".SH NAME",
            r"gearsearch \- the best change-gear train for a lead, from the gears you own",
            ".SH SYNOPSIS",
            r"\fBgearsearch\fR \fICOMMAND\fR [options]",
            ".SH DESCRIPTION",
            _text(whole.description),
            *_options(whole),
            *_rest(whole),
            ".SH COMMANDS",
            *(line for command in commands for line in _command(command)),
            "",
        ]
    )


def _command(parser):
    yield f'.SS "{_text(reference.usage(parser))}"'
    yield _text(parser.description)
    yield from _options(parser)
    yield from _rest(parser)


def _options(parser):
    for action in reference.options(parser):
        yield ".TP"
        yield rf"\fB{_text(reference.written(action))}\fR"
        yield _text(action.help % vars(action))


def _rest(parser):
    """Examples as they are typed, the rest of the epilog as paragraphs."""
    for part in (parser.epilog or "").split("\n\n"):
        first, *lines = part.splitlines() or [""]
        if first.startswith("example"):
            yield from (".PP", _text(first), ".nf", *map(_line, lines), ".fi")
        elif part:
            yield from (".PP", _text(part))


def _text(text):
    """Running text on one line, which ``man`` breaks where its window asks."""
    return _line(" ".join(text.split()))


def _line(text):
    """One line with nothing in it that ``man`` takes for its own."""
    safe = text.replace("\\", r"\e").replace("-", r"\-")
    return rf"\&{safe}" if safe.startswith((".", "'")) else safe
