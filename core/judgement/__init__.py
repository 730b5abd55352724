"""What readings and target say: reduced readings, comparison, and decisions with uncertainty.

``frames``
    distributor and crank figures turned into each other
``reduce``
    readings as shown by instruments, reduced to the distributor
``compare``
    deviation and conformity at each check point
``outcome``
    everything that the board and the sheet show of one docket, computed once
``objective``, ``fit`` (``fit_values``, ``fit_curves``, ``fit_distance``)
    the docket's values fitted to readings, with uncertainties
``faults``, ``diagnose`` (``family``, ``explaining``), ``diagnosis``
    explanations of readings and how probable each is
``advise``
    where the next reading tells most
``alter`` (``alter_catalogue``)
    the shortest list of alterations that brings the unit into its band
``decision``
    all of these for one session of readings: the one entry
"""
