"""``python -m gearsearch``: the same as the command ``gearsearch``."""

from .cli import entry

entry()
