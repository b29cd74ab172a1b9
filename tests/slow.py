"""Which values of a parametrized test wait for ``-m slow``."""

import pytest


def some(values, quick=1):
    """The values, all but the first ``quick`` of them marked as slow; a tuple holds one value for each parameter."""
    rest = [value if isinstance(value, tuple) else (value,) for value in list(values)[quick:]]
    return [*list(values)[:quick], *(pytest.param(*value, marks=pytest.mark.slow) for value in rest)]
