"""The log as a database file: opened, looked through, kept at rest, rescued."""
