"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "58c664fbb9d2c49dac5efe4aa79278903a0e59d45694c732f4ac383b220d7a9b"
