"""Readings and differences, lamps, film over undercoat, flake, tint, blend."""
