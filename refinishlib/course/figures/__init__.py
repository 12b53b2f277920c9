"""The still pictures of each lesson, drawn from engine numbers."""
