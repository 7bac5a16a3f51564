"""A verdict taken apart: every number with its source, and what would change it."""
