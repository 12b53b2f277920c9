"""Climate, product behaviour in time, film build, quantity, emissions, cautions."""
