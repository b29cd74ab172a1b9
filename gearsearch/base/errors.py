"""What gearsearch raises when it is asked for something that cannot be."""

from __future__ import annotations


class GearsearchError(ValueError):
    """A request, a shop file or a list that cannot be answered as it stands.

    Parameters
    ----------
    message : what was given and why it cannot be, in one sentence
    remedy : what would do, as an instruction; printed on a line of its own
    code : stable name of the kind of mistake, for programs and tests: ``file-exists``; empty: that of the class

    The command line prints message and remedy and ends with exit code 2.
    """

    code = "refused"

    def __init__(self, message: str, remedy: str = "", *, code: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy
        self.code = code or type(self).code

    def __str__(self) -> str:
        return f"{self.message}\nhelp: {self.remedy}" if self.remedy else self.message


class UnitError(GearsearchError):
    """A length, pitch, angle or ratio that cannot be read."""

    code = "quantity"


class TrainError(GearsearchError):
    """A train that cannot be read, or that these gears cannot make."""

    code = "train"


class ShopError(GearsearchError):
    """A shop file with mistakes; all of them are in ``problems``.

    Parameters
    ----------
    problems : one text for each mistake, each naming table and key
    where : the shop file, as the user named it
    """

    code = "shop-file"

    def __init__(self, problems: list[str], where: str = "shop file") -> None:
        self.problems = tuple(problems)
        self.where = where
        count = "1 mistake" if len(problems) == 1 else f"{len(problems)} mistakes"
        super().__init__("\n".join([f"{where}: {count}", *(f"  {problem}" for problem in problems)]))
