"""The types of arrays that the rooms hand each other."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Integers = NDArray[np.integer[Any]]
