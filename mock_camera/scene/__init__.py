"""The pieces and their poses: surfaces, shapes, and the lens that pictures them."""
