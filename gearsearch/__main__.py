"""``python -m gearsearch``: the same as the command ``gearsearch``."""

from .cli import entry

if __name__ == "__main__":  # the processes of long work load this module too
    entry()
