"""The calculators: widgets over the rooms below, used by lessons and by painters alike."""
