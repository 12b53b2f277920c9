"""JupyterLab as an apprentice, an instructor or a painter should find it."""
