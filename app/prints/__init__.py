"""Prints that a form or a click asks for: timing tape, degree ring, lamp card, blank session
sheet, reassembly list; and the workshop's heading.

``kinds``
    every print by its key: title, form, description
``dialog``
    the form with its preview, print and save
``forms``
    the forms of tape and ring
``workshop_dialog``
    name, address and sign
"""
