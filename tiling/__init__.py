"""How patterns get onto paper: sheets, overlaps, marks, PDF.

Knows the patterns and nothing of a command line. Inside a sheet everything is counted in draw units of 1/256 point
(25.4/18432 mm); pages are in points, patterns in millimetres and radians.
"""
