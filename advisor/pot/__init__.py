"""How much water a pot holds: substrates, mixes, shapes, capacities."""
