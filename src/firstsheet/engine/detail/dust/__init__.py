"""Small marks that may be dust or scratches.

Enters: tiles of lightness. Leaves: candidates with their place and their evidence.
May import: `engine.detail.survey`, `engine.records`.
"""
