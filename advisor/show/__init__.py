"""What the tool says and draws."""
