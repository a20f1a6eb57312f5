"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "9a8f95548407d22636f3331dbf29db0af0b7ec3a811c33fe14aacb1a92ad6a12"
