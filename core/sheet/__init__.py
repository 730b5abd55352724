"""What goes on paper, as a description without a painter.

``description`` holds the elements of a printed page in millimetres; ``layout`` makes tables, lists
and bars of them; ``plot`` draws axes and places labels; the other modules say what stands on the
sheet of a docket. The application words and paints the result.
"""
