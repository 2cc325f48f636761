"""The job sheet as PDF.

Enters: a plan and a small proof. Leaves: vector pages.
May import: `engine`, `files.writing`.
"""
