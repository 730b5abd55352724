"""Pictures as descriptions: which lines, bands, marks and words stand where, in the frame shown.

Nothing here knows pixels, millimetres, colours or fonts. The board paints a :class:`Figure` on the
screen and the sheet paints the same one on paper, so that they cannot disagree.
"""
