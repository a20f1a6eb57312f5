"""The five stories inside the two years, and the everyday ends; beside each, what was sealed before it was told."""
