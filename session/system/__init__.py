"""What the operating system gives: processes of our own, and files and folders that nobody else may write."""
