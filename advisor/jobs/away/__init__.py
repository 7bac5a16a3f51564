"""An absence: how long each tree lasts, the fewest visits, what would save some."""
