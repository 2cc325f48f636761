"""Opens and measures a picture once, for all jobs.

Enters: a ticket. Leaves: the open picture, its colour paths, its plan.
May import: `files`, `store`, `pixels`, `cms`, `engine`.
"""
