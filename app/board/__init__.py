"""The board: curves, capsule, total map and the plan view of the mechanism, always in sight.

``series`` says which numbers stand where (no Qt), ``shapes`` and ``place`` are the geometry of
drawing (no Qt), ``plan`` paints the mechanism, the plots paint on axes of pyqtgraph, ``drags``
says what a dragged mark does to the docket, ``board`` wires them.
"""
