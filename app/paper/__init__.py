"""Paper: words, type and painting for the page descriptions of :mod:`core.sheet`.

``words``
    the fixed words of every page, by code
``type``
    the font, and how wide text is in it
``painter``
    paints a description on any paint device
``output``
    PDF, SVG, PNG and CSV files, and the printer
``preview``
    the page on the screen
"""
