"""The window and the command line of Bobweight. Every calculation is in ``core``."""
