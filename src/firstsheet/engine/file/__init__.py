"""What a file holds, judged from counts and small tables that other rooms gather.

Enters: histograms, header facts, profile facts. Leaves: facts and findings.
May import: the rest of the engine.
"""
