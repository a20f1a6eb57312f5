"""Screens, by person. No rule and no SQL here."""
