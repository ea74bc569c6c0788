"""The day afterwards: what was used, what went wrong, what is still open, and the seal."""
