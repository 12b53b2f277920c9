"""Numbers in, pictures out. No widgets."""
