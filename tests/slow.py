"""Which values of a parametrized test wait for ``-m slow``, and which are tried many to a test."""

import pytest


def some(values, quick=1):
    """The values, all but the first ``quick`` of them marked as slow; a tuple holds one value for each parameter."""
    rest = [value if isinstance(value, tuple) else (value,) for value in list(values)[quick:]]
    return [*list(values)[:quick], *(pytest.param(*value, marks=pytest.mark.slow) for value in rest)]


def in_lots(values, lots=10, quick=10):
    """Run a test on values by the lot, all but the first ``quick`` lots slow: each as a test of its own costs more."""

    def decorated(test):
        @pytest.mark.parametrize("lot", some(range(lots), quick))
        def run(lot):
            for value in values[lot::lots]:
                test(*value) if isinstance(value, tuple) else test(value)

        run.__name__, run.__doc__ = test.__name__, test.__doc__
        return run

    return decorated
