"""The auditor's screens: what is late, what drifts, what is held, the log, and the records as at a past day."""
