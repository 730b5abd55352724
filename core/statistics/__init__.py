"""Straight lines, normal laws, and weights that a slip cannot upset. General mathematics only.

``lines``
    Straight lines with known or unknown uncertainties, in one variable or both.
``conformity``
    The probability that a true value lies within limits, and the decision that follows.
``robust``
    Robust weights, means of repeats, and the value of a scattered curve at given places.
``least_squares``
    Bounded nonlinear least squares for many starts or models in step with one another.
"""
