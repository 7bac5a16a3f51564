"""What the tool decides, from what is known: pure, "now" is an argument."""
