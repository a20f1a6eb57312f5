"""An auditor's questions; each returns one Sheet."""
