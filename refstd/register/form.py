"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "f3707993d12c7dbac09ebd8dcba6c57e5bbe6300894e58d76e41b1c788cae95f"
