"""The only room that opens originals and writes outputs.

Enters: paths. Leaves: pictures' facts, sources of rows, whole files under their final names.
May import: cms, engine, the decoding libraries.
"""
