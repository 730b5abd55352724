"""Weights, linkage, springs and capsule: the curve in closed form.

``builds``
    a mechanism's numbers as arrays, one or many builds at once
``linkage``, ``link``, ``learned``, ``springs``
    swing of the weights, slope of their inertia, torque of the springs
``balance``
    speed as an explicit function of advance, on exact knots
``branches``
    from that function to the rising and falling curve, jumps and plateaux
``predict``
    the whole for one mechanism; ``pose`` for its drawing; ``capsule`` and ``total`` besides

Symbols in the docstrings: θ cam advance, φ swing of a weight, α angle at the pivot between
outwards and the centre of gravity, ω shaft speed. Arrays are shaped (builds, segments, knots).
"""
