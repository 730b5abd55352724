"""Names of the arrays that pass between the rooms."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Coarse = NDArray[np.float32]
Indices = NDArray[np.int_]
Flags = NDArray[np.bool_]
