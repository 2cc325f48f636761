"""What the paper takes away: differences, merged shadows, regions, repairs.

Enters: wanted and printed colour. Leaves: shares, regions, rankings, findings.
May import: `engine.records`, `engine.colour`.
"""
