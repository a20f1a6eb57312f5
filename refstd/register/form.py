"""The form of a store that this refstd writes. `python -m tests.freeze_form` writes it anew until the first release."""

REVISION = "0001"
FINGERPRINT = "4dddb9ee41c1cb4ff0cf7d3c72ff44e41bc35a578969cf7e0c95619b66ad3163"
