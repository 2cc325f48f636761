"""How large, how fine: ppi, verdicts, crops, resampling weights, rescans.

Enters: pixels, millimetres, distances. Leaves: sizes, rasters, verdicts, findings.
May import: `engine.records`, `engine.units`, and what the engine's lower modules offer.
"""
