"""Prints that a form or a click asks for: timing tape, degree ring, lamp card, blank session
sheet, reassembly list, measuring card; and the workshop's heading. Each is a line in ``kinds``.
"""
