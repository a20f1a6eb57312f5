"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "331af77a4155821490746f723b34436a2f08a87c2c3f8c6b8ff97e536a607969"
