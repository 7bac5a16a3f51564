"""The commands with which a grower tells the tool things and asks it, one file each."""
