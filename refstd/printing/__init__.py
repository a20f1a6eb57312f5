"""One Sheet, and any Sheet as text, CSV, JSON or PDF."""
