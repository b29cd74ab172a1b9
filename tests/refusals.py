"""What a refusal must hold, in place of its words."""

import re
from contextlib import contextmanager

import pytest

from gearsearch.base.errors import GearsearchError


@contextmanager
def refused(code, *facts):
    """Refused with this code, with something that would do, and with every fact told, such as the value as given."""
    with pytest.raises(GearsearchError) as caught:
        yield caught
    error = caught.value
    assert error.code == code
    assert [fact for fact in facts if fact not in str(error)] == []
    assert error.remedy
    assert re.fullmatch("[a-z]+(-[a-z]+)*", code)
