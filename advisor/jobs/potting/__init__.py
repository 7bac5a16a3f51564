"""Pots and mixes compared over past years; when to repot; a mix measured."""
