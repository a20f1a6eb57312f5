"""The records: tables, log and guards, and the one door to them (lab.py)."""
