"""Light on paper and on screens, and what an eye resolves.

Enters: lux, reflectances, distances. Leaves: luminances, stops, findings.
May import: `engine.records`, `engine.colour`.
"""
