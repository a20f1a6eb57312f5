"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "76dbc97889dfc66b70a0d045caf6abf8b60a5a043e67f9ecfab6091689580a47"
