"""What the lab decides by: frozen facts in, verdict and reasons out. No records, no clock, no terminal."""
