"""The invented harbour town of Merrowick, whose photographs the demo prints.

Takes a folder; gives photograph-like pictures made from geometry, light and noise, so that no
photograph of anyone else is shipped. May import the cms and engine of firstsheet, which never
imports it. Tests: tests/harbour/.
"""
