"""Packets: all that one member of a class is handed, in one zip file."""
