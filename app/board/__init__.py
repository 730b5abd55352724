"""The board: curves, capsule, total map and the plan view of the mechanism, always in sight.

Where something stands is told by :mod:`core.figure`; here it is painted on axes of pyqtgraph, and a
dragged mark becomes an edit of the docket.
"""
