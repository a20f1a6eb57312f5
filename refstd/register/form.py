"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "d72ce1514b79f914f111677674c4739e46c1c51c9939722c9ff20b258c8ff309"
