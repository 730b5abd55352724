"""Springs from measurements and from dimensions, weights from outlines, tray and tolerance.

``wire``
    A coil spring from its dimensions: rate, tension, stresses; and sizes that give a rate.
``hang_test``
    A spring from pairs of load and length.
``outline``
    A flat weight from its outline: mass, centre of gravity, moment of inertia.
"""
