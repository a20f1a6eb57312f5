"""What a computation accepts: one value or an array, inside its domain, and the same shape back.

Only the computing packages import this module; it needs numpy.
"""

from typing import Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[Any]
# Types promise 'all values or all arrays'; at run time values and arrays broadcast as numpy does.
Numbers = TypeVar("Numbers", float, Array)


def finite(name: str, values: ArrayLike, remedy: str = "Give a plain number.") -> NDArray[np.float64]:
    """Return `values` as floats; ValueError naming `name`, with the remedy, for NaN, infinity or no number at all."""
    try:
        numbers = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError) as problem:
        raise ValueError(f"{name} is not a number: {values!r}. {remedy}") from problem
    if not np.isfinite(numbers).all():
        raise ValueError(f"{name} must be finite. {remedy}")
    return numbers


def positive(name: str, values: ArrayLike, remedy: str = "Give a number above 0.") -> NDArray[np.float64]:
    """Return `values` as floats above 0; ValueError otherwise."""
    numbers = finite(name, values, remedy)
    if not (numbers > 0).all():
        raise ValueError(f"{name} must be above 0, not {numbers.min():g}. {remedy}")
    return numbers


def not_negative(name: str, values: ArrayLike, remedy: str = "Give 0 or more.") -> NDArray[np.float64]:
    """Return `values` as floats of 0 or more; ValueError otherwise."""
    numbers = finite(name, values, remedy)
    if not (numbers >= 0).all():
        raise ValueError(f"{name} must not be below 0, not {numbers.min():g}. {remedy}")
    return numbers


def same_shape(result: ArrayLike) -> Any:
    """Return a plain Python number for a single value, the array otherwise."""
    array = np.asarray(result)
    return array.item() if array.ndim == 0 else array
