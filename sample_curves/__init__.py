"""Dockets of invented units that come with the program; ``make.py`` makes them."""
