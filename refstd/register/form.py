"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "881a20b432ed6bb05e6433b9fb3c4d7ee8fde30d2dc7bfca7bf60a6baa3e13a4"
