"""Tables of readings, check points and springs, in and out.

A table is understood before anything is taken from it: :func:`core.tables.understanding.understand`
says of each column what it means, in which frame and unit, and whether that is sure, and of each
row what would be stored or why not.
"""
