"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "9a3f865a8788de332d9b2dc6218a79c4f9db55eb58ac042c4e528c6ee3026d30"
