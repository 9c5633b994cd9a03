"""The checks that hold a picture's place against the reference."""
