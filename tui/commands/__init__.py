"""The commands of `stillset`; each module is imported only when its command runs."""
