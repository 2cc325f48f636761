"""Firstsheet: the print you meant, on the first sheet.

A photographer's scan or camera file becomes a print-ready sheet, with every sum shown.
The rooms and the one direction of data: docs/map.md.
"""

__all__ = ["__version__"]

__version__ = "0.1.0"
