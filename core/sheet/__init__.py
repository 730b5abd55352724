"""What goes on paper, as a description without a painter.

``description`` holds the elements of a printed page in millimetres, ``pages`` and ``grid`` fill
pages with them; a module for every sheet says what stands on it. The application words and paints
the result.
"""
