"""Abrasives and the order of work."""
