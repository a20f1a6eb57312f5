"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "a6cdf6a5560a8e0ffc97cdc8d303185b374812045f67fafa6528383eca1fac66"
