"""A bench that the core knows nothing of: units, dockets, tables, faults and sessions drawn at
random, their truth computed by forces as vectors and bracketed roots.

Of the core only the records of a docket are used; no curve, no capsule, no reading equation.
"""
