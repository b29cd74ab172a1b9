"""A command as it is typed, run in this process."""

import io

from gearsearch.cli import main


def run(*words):
    """Exit code and stdout of the words behind ``gearsearch``."""
    out = io.StringIO()
    return main(words, out), out.getvalue()


def code_of(*words):
    """Exit code alone."""
    return run(*words)[0]
