"""What readings and target say: reduced readings, comparison, and decisions with uncertainty.

``frames``
    distributor and crank figures turned into each other
``reduce``
    readings as shown by instruments, reduced to the distributor
``compare``
    deviation and conformity at each check point
``outcome``
    everything that the board and the sheet show of one docket, computed once
"""
