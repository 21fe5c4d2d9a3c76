"""The type of the figures a job returns: plain values, as the file of results holds them."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Figures", "Floats"]

Figures = dict[str, Any]
"""Names and plain values, written as JSON. Each kind of job has names of its own."""

Floats = NDArray[np.float64]
"""An array of real numbers."""
