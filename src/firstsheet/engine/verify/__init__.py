"""What a print shows, held against what it should: readings, limits, causes, drift.

Aims and readings enter; figures, sentences and findings leave. May import `engine.records`,
`engine.colour`, `engine.findings` and `engine.errors` only.
"""
