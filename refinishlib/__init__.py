"""Numbers behind vehicle refinishing. Importing this loads nothing heavy; take what you need from a room."""

__version__ = "0.1.0"
