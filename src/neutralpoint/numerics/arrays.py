"""The kinds of NumPy array that pass between packages; shape and unit stand in each docstring."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

# float64, but for rows of many flights and wide samples, which are kept as float32 to halve them.
Array = NDArray[np.floating[Any]]
Floats = Array  # the same, by the name that serves where `jax.Array` stands in the module too
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]
