"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "8cf1a44a46d450473410b45c995b131d59f8b29cf4e32a16468214f0aa23beed"
