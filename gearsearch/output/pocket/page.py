"""The page around packed rows: a template, one script, one style, and a policy that lets nothing else run."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping
from html import escape
from importlib.resources import files

from ..records import json_text

_PLACE = re.compile(r"\{\{(\w+)\}\}")


def filled(texts: Mapping[str, str], about: object, rows: str) -> str:
    """The page.

    Parameters
    ----------
    texts : by the names of their places; HTML of our own making, what a user typed being escaped
    about : what the script knows besides the rows, in plain types
    rows : the packed rows

    No text is looked through for places again, and none of the data can end its own element: ``<`` is not in it.
    """
    script, style, page = (files(__package__).joinpath(name).read_text(encoding="utf-8") for name in _FILES)
    allowed = f"script-src {_hash(script)}; style-src {_hash(style)}"
    values = {
        **texts,
        "policy": f"default-src 'none'; {allowed}; base-uri 'none'; form-action 'none'",
        "script": script,
        "style": style,
        "about": json_text(about).replace("<", "\\u003c"),
        "rows": rows,
    }
    return _PLACE.sub(lambda place: values[place[1]], page)


_FILES = ("pocket.js", "pocket.css", "page.html")


def listed(texts: list[str]) -> str:
    """Texts as the items of a list."""
    return "".join(f"<li>{escape(text)}</li>" for text in texts)


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
