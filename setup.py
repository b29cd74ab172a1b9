"""What an index of packages shows: the README less its pictures and links, which lead to files that it has not."""

import re
from pathlib import Path

from setuptools import setup


def for_an_index(text: str) -> str:
    """A page without pictures from the project's folder, and with the words alone of links into it.

    The train is drawn in text on the page too. With an address for the project both could be made absolute here.
    """
    text = re.sub(r"^!\[[^]]*\]\((?!\w+:)[^)]*\)\n\n", "", text, flags=re.MULTILINE)
    return re.sub(r"\[([^]]*)\]\((?!\w+:)[^)]*\)", r"\1", text)


if __name__ == "__main__":
    page = Path(__file__).with_name("README.md").read_text(encoding="utf-8")
    setup(long_description=for_an_index(page), long_description_content_type="text/markdown")
