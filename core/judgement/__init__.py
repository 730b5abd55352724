"""What readings and target say: reduced readings, comparison, and decisions with uncertainty.

``outcome`` is all that a docket comes to without a judgement; ``decision`` is the one entry to a
judgement, of which ``answer`` is the record and from which ``consequences`` follow.
"""
