"""Processes of our own, and files and folders that nobody else may write, as the operating system gives them."""
