"""Where things lie on the sheet.

Enters: millimetres. Leaves: placements in millimetres and pixels, findings.
May import: `engine.records`, `engine.sheets`, `engine.units`.
"""
