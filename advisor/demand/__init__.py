"""How much water the air asks of a tree."""
