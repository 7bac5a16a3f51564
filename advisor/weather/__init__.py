"""What the sky did and will do: one hourly table, and the files it is read from."""
