"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "10ec001e2ad2c62835a752e6d4828da6a78cdbe57f5f49eba966b92cf14c1c62"
