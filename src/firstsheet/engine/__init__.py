"""Pure numbers: what the trade and the standards compute.

Enters: numbers and frozen records. Leaves: numbers, frozen records, findings, errors.
May import: the standard library, NumPy, pydantic. Never files, clock, database or globals.
"""
