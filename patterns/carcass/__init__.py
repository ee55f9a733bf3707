"""Slope-sided carcasses: boards in space, their true shapes, how they meet, and what a saw is set to.

Space is that of the piece: x to the right, seen by who stands at the foot board and looks to the head board; y from the
foot to the head; z up from the level plane that the bottom edges stand on. Millimetres and radians.
"""
