"""Pictures as descriptions: which lines, bands, marks and words stand where, in the frame shown.

Nothing here knows pixels, millimetres, colours or fonts. The board paints a :class:`Figure` on the
screen and the sheet paints the same one on paper, so that they cannot disagree.

``description``
    the parts of a figure
``view``, ``numbers``
    the frame and units shown; how numbers are written
``ranges``
    round ranges and steps of axes
``place``
    where its words stand, in units of their own height
``speed``, ``vacuum``, ``traces``, ``events``, ``decided``, ``overlay``
    advance against speed and against depression, and what is laid over them
``torque``, ``ratio``, ``alterations``, ``design``, ``total``
    why the curve is as it is, what alterations do, the bench's pictures, the map of the total
"""
