"""What surrounds the curve: points and dwell, play, coil, height, leak-down, lamp, rotor, setting
up, the sums of the bench, reassembly, and the geometry of tape and ring.

Every module is pure: numbers in, frozen results out. Arrays are accepted wherever a number that
is swept (a gap, a speed, a depression, a height) goes in, and come back in the same shape.
"""
