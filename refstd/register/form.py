"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "4f7df1fcfd7fc8268370b6bf6bbf2a50e7c10276131c618ae4fd15930afbe108"
