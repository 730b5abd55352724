"""What the command line answers, and where it paints without a screen.

``answers``
    the fields of the JSON output
``plain_text``
    the same for reading
``screen``
    whether there is a screen, and Qt without one
"""
