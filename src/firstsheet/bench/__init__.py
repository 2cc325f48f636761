"""The page's state: sessions, tiles, background work, views.

Enters: what a page asks. Leaves: records that a page shows as they are.
May import: `jobs` and what lies below; knows nothing of the web.
"""
