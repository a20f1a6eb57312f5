"""refstd keeps the equipment that an eddy-current surface inspection rests on, and says whether it may be relied on."""

__version__ = "0.1.0"
