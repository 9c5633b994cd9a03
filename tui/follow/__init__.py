"""A second screen that only looks: in a terminal, or as a page for a tablet."""
