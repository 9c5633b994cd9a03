"""Files around the log: copies, locks, paths, entries kept aside."""
