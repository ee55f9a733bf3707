"""How a person asks for it: commands and reports.

Knows ``patterns`` and ``tiling``; neither knows this. Lengths are millimetres and angles radians inside; what is shown
to a person is in the pattern file's own unit, what is given to a program is in millimetres and degrees.
"""
