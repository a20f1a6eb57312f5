"""Propose a recalibration interval from how reliable equipment was found at its end."""

import numpy as np

from refstd.base.domain import Array, Numbers, finite, positive, same_shape


def for_reliability(interval: Numbers, observed: Numbers, target: Numbers) -> Numbers:
    """Return the interval at whose end the target share would still be in tolerance; unit of `interval`.

    observed: share found in tolerance at the end of `interval`; target: the share wanted; both between 0 and 1.
    Exponential model R(t) = exp(−λt): interval·ln(target)/ln(observed); exact by algebra, the model is an assumption.
    If all (or none) were in tolerance it gives no finite answer: use a lower confidence limit of the share instead.
    A proposal only: the lab's procedure sets intervals and caps their change.
    """
    found, wanted = _share("observed", observed), _share("target", target)
    result: Numbers = same_shape(positive("interval", interval) * np.log(wanted) / np.log(found))
    return result


def _share(name: str, values: float | Array) -> Array:
    share = finite(name, values)
    if not ((share > 0) & (share < 1)).all():
        raise ValueError(f"{name} must lie between 0 and 1, without both. Use a lower confidence limit of the share.")
    return share
