"""What everything else stands on: refusals, units, text, and the shape of a reason."""
