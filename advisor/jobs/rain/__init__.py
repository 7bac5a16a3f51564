"""Rain butts: what comes in, what pots take, how hard the tap is."""
