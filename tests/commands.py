"""A command as it is typed, run in this process."""

import io

from gearsearch import cli


def run(*words):
    """Exit code and stdout of the words behind ``gearsearch``."""
    out = io.StringIO()
    return cli.main(words, out), out.getvalue()


def code_of(*words):
    """Exit code alone."""
    return run(*words)[0]


def raising(*words):
    """The same, but a mistake is raised."""
    out = io.StringIO()
    return cli._run(words, out), out.getvalue()
