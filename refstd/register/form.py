"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "bb3b962b1023d3c6697c35bbb5df06e8cdc19d32dec51f7ba5878ef04be94122"
