"""Sentences for the sheet: things to do, things to know, and lines to write on what was measured."""

from __future__ import annotations

from ..base.document import Item, plain


def do(text: str) -> Item:
    """Something to do, as a sentence: it begins large and ends in a full stop, or in a line to fill in."""
    return Item(_sentence(text), tick=True)


def know(text: str, *, drawn: bool = False) -> Item:
    """Something to know, likewise; ``drawn`` where a picture of the train says it too."""
    return Item(_sentence(text), drawn=drawn)


def to_measure(text: str) -> str:
    """A text with a line to write on what was measured."""
    return f"{text}. Measured {'_' * 14}"


def _sentence(text: str) -> str:
    first = int(text[:1] != plain(text)[:1])  # a strong word begins with its mark
    text = text[:first] + text[first : first + 1].upper() + text[first + 1 :]
    return text if plain(text).endswith((".", "_")) else f"{text}."
