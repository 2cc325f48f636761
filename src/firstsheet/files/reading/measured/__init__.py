"""Readings: measured patches as instruments' programs write them.

CGATS text (ISO 28178), CxF/X (ISO 17972) and CSV enter; one `Reading` and what is odd about it
leaves. May import `engine` only, and the CxF library.
"""
