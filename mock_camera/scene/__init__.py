"""The pieces and their poses: surfaces, shapes, and the picturing lens."""
