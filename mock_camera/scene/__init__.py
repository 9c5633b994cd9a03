"""The pieces and how they stand: surfaces, shapes, the lens that looks at them."""
