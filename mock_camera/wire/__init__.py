"""The network side: connections, and the answers to operations."""
