"""Measuring off one picture: the card laid in it, the camera, and what a click is worth in mm."""
