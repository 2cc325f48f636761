"""Opens pictures: recognised by content, checked, described, never changed.

Enters: paths. Leaves: facts and sources of rows.
May import: `engine`, `cms`.
"""
