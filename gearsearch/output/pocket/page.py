"""A page for a browser: a template, its script, one style, and a policy that lets nothing else run."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping, Sequence
from html import escape
from importlib.resources import files

from ..records import json_text

_PLACE = re.compile(r"\{\{(\w+)\}\}")


def filled(template: str, scripts: Sequence[str], texts: Mapping[str, str]) -> str:
    """The page.

    Parameters
    ----------
    template, scripts : files of this folder; the scripts stand in the page as one, in their order
    texts : by the names of their places; HTML of our own making, what a user typed being escaped

    No text is looked through for places again.
    """
    script, style = "\n".join(map(_read, scripts)), _read("pocket.css")
    allowed = f"script-src {_hash(script)}; style-src {_hash(style)}"
    values = {
        **texts,
        "policy": f"default-src 'none'; {allowed}; base-uri 'none'; form-action 'none'",
        "script": script,
        "style": style,
    }
    return _PLACE.sub(lambda place: values[place[1]], _read(template))


def data(value: object) -> str:
    """A value in plain types as JSON that cannot end its own element: ``<`` is not in it."""
    return json_text(value).replace("<", "\\u003c")


def listed(texts: list[str]) -> str:
    """Texts as the items of a list."""
    return "".join(f"<li>{escape(text)}</li>" for text in texts)


def _read(name: str) -> str:
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
