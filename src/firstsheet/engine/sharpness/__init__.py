"""How sharp a print looks, and the output sharpening that brings it there.

Enters: what a file resolves, ink spread, distance. Leaves: acutance, strength, findings.
May import: `engine.records`, `engine.detail`, `engine.light`.
"""
