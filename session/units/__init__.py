"""What a quantity may be, and how numbers are written and read."""
