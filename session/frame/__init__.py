"""One exposure: its states as a table, findings, what the camera says, and what is needed from outside."""
