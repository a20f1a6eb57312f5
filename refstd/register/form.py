"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "c4ddad3d65a0ebf730265920e0680fbb9c4f76719b85f13dde266b5ddc5202db"
