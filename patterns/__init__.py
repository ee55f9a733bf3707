"""What is drawn: geometry and the trade's arithmetic.

Knows nothing of paper and nothing of a command line. Lengths are millimetres and angles radians
everywhere inside; a name that ends in ``_deg`` or ``_in`` says otherwise.
"""
