"""The parts of the screens: each shows a value that it is given and decides nothing."""
