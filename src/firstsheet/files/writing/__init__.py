"""Writes files that appear whole or not at all.

Enters: rows, records, metadata. Leaves: folders, TIFF and PNG files under their final names.
May import: `engine`, `cms`.
"""
