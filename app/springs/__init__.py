"""The parts of the Springs page: tray, one spring, search, what to order, tolerance, learning.

Each part is a :class:`app.springs.part.Part`. ``known``, ``showing`` and ``cg`` hold no widgets:
they bring what is stored to the core's functions and back.
"""
