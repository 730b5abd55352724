"""Springs from measurements and from dimensions, weights from outlines, tray and tolerance."""
