"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "b1855a3214c562209f88b3d86eae48f64d0742918e0b3763db23a0e679ff7eba"
