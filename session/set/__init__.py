"""What stands on the table: the kit and its things, a set-up and its revisions, lens and lights in use."""
