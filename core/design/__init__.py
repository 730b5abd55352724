"""Springs from measurements and from dimensions, weights from outlines, tray and tolerance.

``wire``
    A coil spring from its dimensions: rate, tension, stresses.
``winding``
    Sizes of wire, coil and body that give a wanted spring.
``hang_test``
    A spring from pairs of load and length.
``outline``
    A flat weight from its outline: mass, centre of gravity, moment of inertia.
``tray``, ``tray_file``
    The user's springs, their file and their table.
``goal``, ``coarse``, ``tuning``, ``search``
    What a curve has to pass; every pair of the tray looked at, tuned and ranked by margin.
``ideal``
    The springs with the most margin, whatever is in the tray, and how to wind them.
``spread``, ``tolerance``
    Many builds drawn from the uncertain values: band, odds of passing, which value matters.
``learn``
    A mechanism from one run with known springs.
"""
