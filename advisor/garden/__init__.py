"""What the grower keeps: records, the file they stand in, and the way in and out of it."""
