"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "c2c0dff0d3cf3e454b1921d26b09021c0ea7730809dd7d87e8275c617ee6089c"
