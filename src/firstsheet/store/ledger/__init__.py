"""The ledger: one SQLite file that remembers every print, its history and its editions.

Enters: records and bytes from jobs. Leaves: the same records, and plain CSV and JSON. Imports the
engine's records and the standard library's `sqlite3`; knows no pictures. Tables: docs/ledger.md.
"""
