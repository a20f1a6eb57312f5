"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "d36c436554987475452d325b985f47b3ef73de301aef4e87290a3868179b6304"
