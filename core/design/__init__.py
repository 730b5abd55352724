"""Springs from measurements and from dimensions, weights from outlines, tray and tolerance.

``wire``
    A coil spring from its dimensions: rate, tension, stresses.
``winding``
    Sizes of wire, coil and body that give a wanted spring.
``hang_test``
    A spring from pairs of load and length.
``outline``
    A flat weight from its outline: mass, centre of gravity, moment of inertia.
"""
