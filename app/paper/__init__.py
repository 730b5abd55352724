"""Paper: words, type and painting for the page descriptions of :mod:`core.sheet`."""
