"""Whole tasks joined from the rooms: the single door for command line and page.

Enters: a wish. Leaves: an answer record. May import every room below. Heavy rooms are imported
inside the functions that need them.
"""
