"""The only room that knows ICC: reading profiles, transforms, black point, links, proof.

Enters: profile bytes and float arrays. Leaves: float arrays, profile facts, plain tables.
May import: engine, imagecodecs (Little CMS), NumPy.
"""
