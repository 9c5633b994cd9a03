"""Files as pictures, and what several checks and instruments count with."""
