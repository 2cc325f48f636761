"""Colour as numbers: Lab, differences, adaptation, densities, working spaces.

Enters: arrays (..., 3). Leaves: arrays of the broadcast shape. May import: NumPy only.
"""
