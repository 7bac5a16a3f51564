"""The water in the pot, hour by hour."""
