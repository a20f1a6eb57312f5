"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "95ffd8eed79ced58b75df94e220e3c47daf0d0fdc84ac3361678577361999df4"
